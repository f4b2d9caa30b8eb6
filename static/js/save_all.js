/*
 * Saves all that this phone holds to a file, when the app itself does not run: the server joins this and what
 * it imports into one classic script that needs nothing of the app. It copies the rows of the database as
 * they lie there, whatever they are (see webapp/records/README.md).
 *
 * `fallbookSaveKey()` makes the key "Save everything to a file" with the place where it says how it went.
 */
import { collect } from './save_all/phone_rows.js';
import { t } from './save_all/words.js';

Object.assign(window, { fallbookSaveKey: saveKey });

/** @returns {HTMLElement} */
function saveKey() {
  const place = document.createElement('div');
  const key = document.createElement('button');
  const status = document.createElement('div');
  let busy = false;
  key.type = 'button';
  key.className = 'button action wide';
  key.textContent = t('save.key');
  place.className = 'stack';
  status.className = 'stack';
  status.setAttribute('role', 'status');
  key.addEventListener('click', () => {
    if (busy) return;
    busy = true;
    const over = (/** @type {() => void} */ show) => {
      busy = false;
      show();
    };
    say(status, t('save.reading'));
    collect((words) => say(status, words)).then(
      (saved) => over(() => offer(status, saved)),
      (error) => over(() => say(status, error.message))
    );
  });
  place.append(key, status);
  return place;
}

/** @param {HTMLElement} place @param {string} words */
function say(place, words) {
  const line = document.createElement('p');
  line.textContent = words;
  place.textContent = '';
  place.append(line);
}

/** @param {HTMLElement} place @param {import('./save_all/phone_rows.js').Saved} saved */
function offer(place, { files, entries, photos }) {
  say(
    place,
    t('save.made', { entries: t('save.entries', { n: entries }), photos: t('save.photos', { n: photos }) })
  );
  const lines = files.map((file) => {
    const line = document.createElement('p');
    const link = document.createElement('a');
    link.href = URL.createObjectURL(file);
    link.download = file.name;
    link.textContent = file.name;
    line.append(link);
    if (navigator.canShare && navigator.canShare({ files: [file] })) line.append(' ', shareKey(file));
    return line;
  });
  place.append(...lines);
  const first = /** @type {HTMLElement} */ (lines[0].querySelector('a'));
  first.click();
}

/** @param {File} file */
function shareKey(file) {
  const key = document.createElement('button');
  key.type = 'button';
  key.className = 'button';
  key.textContent = t('save.share');
  key.addEventListener('click', () => {
    navigator.share({ files: [file] }).catch(() => undefined);
  }); // put away: the link is there
  return key;
}
