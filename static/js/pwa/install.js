/** Putting the app on the home screen: where it lives, the phone keeps its data. */

/** @returns {Install} */
export function makeInstall() {
  return new Install();
}

/**
 * As Chromium has it.
 * @typedef {Event & {prompt: () => Promise<unknown>, userChoice: Promise<{outcome: string}>}} InstallEvent
 */

export class Install {
  events = new EventTarget();
  /** @type {InstallEvent | undefined} */
  #prompt;

  constructor() {
    addEventListener('beforeinstallprompt', (event) => {
      event.preventDefault(); // our own button asks, after the first saved record
      this.#prompt = /** @type {InstallEvent} */ (event);
      this.events.dispatchEvent(new Event('changed'));
    });
    addEventListener('appinstalled', () => {
      this.#prompt = undefined;
      this.events.dispatchEvent(new Event('changed'));
    });
  }

  /** @returns {boolean} */
  get standalone() {
    return (
      matchMedia('(display-mode: standalone)').matches ||
      Boolean(/** @type {{standalone?: boolean}} */ (navigator).standalone)
    );
  }

  /** @returns {boolean} iPhones and iPads have no prompt: they need to be told Share, Add to Home Screen */
  get isIos() {
    const agent = navigator.userAgent;
    return /iPhone|iPad|iPod/.test(agent) || (agent.includes('Macintosh') && navigator.maxTouchPoints > 1);
  }

  /** @returns {boolean} */
  get canPrompt() {
    return this.#prompt !== undefined && !this.standalone;
  }

  /** Call inside a tap. @returns {Promise<boolean>} whether the person accepted */
  async prompt() {
    const event = this.#prompt;
    this.#prompt = undefined;
    if (!event) return false;
    await event.prompt();
    const { outcome } = await event.userChoice;
    this.events.dispatchEvent(new Event('changed'));
    return outcome === 'accepted';
  }
}
