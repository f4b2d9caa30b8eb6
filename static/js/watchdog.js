/*
 * Watches over the start. A classic script that comes before the app and needs nothing of it, in a language
 * that old browsers know: a start that draws no first screen loads the page once more, and says so when that
 * did not help.
 *
 * The page calls the app's script `script` and the link to its data `data`; the app sets `data-screen` on the
 * root element once its first screen is drawn. Time counts while nothing happens: not while the app is still
 * on its way here, and on a busy processor the clock of this page ticks less often.
 */
(function () {
  'use strict';

  var NOTHING_MS = 6000;
  var LONG_LOAD_MS = 20000;
  var TICK_MS = 250;
  var MARK = 'fallbook-start';
  var root = document.documentElement;
  var waited = 0;
  var idle = 0;
  var patience = NOTHING_MS;
  var isOver = false;
  var scriptIsHere = false;
  var dataIsHere = false;
  var words = startWords();
  var clock = setInterval(tick, TICK_MS);

  wakeStorage();
  window.addEventListener('error', failed, true);
  document.addEventListener('load', arrived, true);
  window.addEventListener('fallbook-working', function () {
    patience = 10 * NOTHING_MS;
  }); // the store brings itself up to date

  /** @type {any} */ (window).fallbookWatchdog = { trouble: trouble };

  /** The browser looks for the databases while the app is still on its way, so that they open at once. */
  function wakeStorage() {
    try {
      if (indexedDB.databases)
        indexedDB.databases().then(null, function () {
          /* the store says what is wrong */
        });
    } catch (error) {
      // the store says what is wrong
    }
  }

  /** The sentences that the page brings with it. @returns {Object<string, string>} */
  function startWords() {
    var place = document.getElementById('start-words');
    return place ? JSON.parse(place.textContent || '').start : {};
  }

  /** @param {string} key @returns {string} */
  function t(key) {
    return words[key.slice('start.'.length)] || key;
  }

  function tick() {
    if (root.getAttribute('data-screen')) {
      end();
      forget();
    } else if (!document.hidden) {
      waited += TICK_MS;
      idle = isLoading() ? 0 : idle + TICK_MS;
      if (idle >= patience) {
        if (!trouble('start_silent')) offer('start_silent', '');
      } else if (waited === NOTHING_MS) {
        say(t('start.slow'));
      } else if (waited === LONG_LOAD_MS) {
        offer('start_slow', t('start.long'));
      }
    }
  }

  /** What the phone keeps comes at once; only a first visit has to wait for the network. */
  function isLoading() {
    var workers = navigator.serviceWorker;
    return !(workers && workers.controller) && !(scriptIsHere && (dataIsHere || !awaitsData()));
  }

  function awaitsData() {
    var link = /** @type {HTMLLinkElement | null} */ (document.getElementById('data'));
    return Boolean(link && link.relList && link.relList.supports && link.relList.supports('preload'));
  }

  /** @param {Event} event */
  function arrived(event) {
    var what = /** @type {Element} */ (event.target);
    if (what.id === 'script') scriptIsHere = true;
    if (what.id === 'data') dataIsHere = true;
  }

  /** @param {any} event */
  function failed(event) {
    var what = event.target;
    var why = '';
    if (what && what.id === 'script') why = 'start_not_loaded';
    else if (what === window && !/^ResizeObserver/.test(event.message)) why = 'start_error';
    if (what && what.id === 'data') dataIsHere = true; // the app says what is wrong with it
    if (!why || isOver || root.getAttribute('data-screen')) return;
    if (!trouble(why)) offer(why, event.message || '');
  }

  /**
   * Load the page once more, but never twice in a row.
   * @param {string} why
   * @returns {boolean} whether it does
   */
  function trouble(why) {
    var before = null;
    end();
    try {
      before = sessionStorage.getItem(MARK);
      sessionStorage.setItem(MARK, why);
      if (before !== null || sessionStorage.getItem(MARK) !== why) return false;
    } catch (error) {
      return false; // nothing can be noted, so it might go round for ever
    }
    again();
    return true;
  }

  /**
   * Where the phone keeps nothing yet, a page without network would be the browser's own, with no way back.
   */
  function again() {
    var workers = navigator.serviceWorker;
    if (workers && workers.controller) location.reload();
    else reach(1000);
  }

  /** @param {number} waitMs */
  function reach(waitMs) {
    var ask = new XMLHttpRequest();
    var later = function () {
      say(t('start.no_connection'));
      setTimeout(function () {
        reach(Math.min(2 * waitMs, 15000));
      }, waitMs);
    };
    ask.open('GET', '/healthz');
    ask.timeout = 15000;
    ask.onload = function () {
      location.reload();
    };
    ask.onerror = later;
    ask.ontimeout = later;
    ask.send();
  }

  function forget() {
    try {
      sessionStorage.removeItem(MARK);
    } catch (error) {
      // then nothing was noted
    }
  }

  function end() {
    isOver = true;
    clearInterval(clock);
  }

  /** @param {string} words */
  function say(words) {
    var place = document.querySelector('.starting, .main .body p');
    if (place) place.textContent = words;
  }

  /** @param {string} code @param {string} words */
  function offer(code, words) {
    if (!document.body || !document.getElementById('app')) {
      document.addEventListener('DOMContentLoaded', function () {
        offer(code, words);
      });
      return;
    }
    var place = /** @type {HTMLElement} */ (document.getElementById('app'));
    var saveKey = /** @type {any} */ (window).fallbookSaveKey;
    var main = piece('main', 'main', '');
    var head = piece('div', 'head', '');
    var body = piece('div', 'body', '');
    var key = piece('button', 'button main-act action wide', t('start.again'));
    head.appendChild(piece('h1', '', t('start.failed')));
    if (words) body.appendChild(piece('p', '', words));
    body.appendChild(piece('p', '', t('start.failed_why')));
    body.appendChild(piece('p', 'small', code));
    key.addEventListener('click', again);
    body.appendChild(key);
    if (saveKey) body.appendChild(saveKey());
    main.appendChild(head);
    main.appendChild(body);
    while (place.firstChild) place.removeChild(place.firstChild);
    place.appendChild(main);
  }

  /** @param {string} tag @param {string} kind @param {string} words @returns {HTMLElement} */
  function piece(tag, kind, words) {
    var made = document.createElement(tag);
    if (kind) made.className = kind;
    if (words) made.textContent = words;
    return made;
  }
})();
