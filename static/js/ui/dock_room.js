/** How much of the screen the dock takes: what is scrolled to then stops above it, and not beneath it. */

/** @param {HTMLElement} dock @returns {{take: () => void, stop: () => void}} */
export function dockRoom(dock) {
  const { style } = document.documentElement;
  const take = () => {
    if (dock.hidden || dock.className !== 'dock') style.removeProperty('--dock');
    else style.setProperty('--dock', `${Math.ceil(dock.getBoundingClientRect().height)}px`);
  };
  const stop = new AbortController();
  const sizes = new ResizeObserver(take);
  sizes.observe(dock);
  // An address bar that comes back, a phone that is turned: the window that is typed into stays in sight.
  addEventListener(
    'resize',
    () => {
      take();
      document.activeElement?.closest('.body .window')?.scrollIntoView({ block: 'nearest' });
    },
    { signal: stop.signal }
  );
  return {
    take,
    stop() {
      stop.abort();
      sizes.disconnect();
      style.removeProperty('--dock');
    }
  };
}
