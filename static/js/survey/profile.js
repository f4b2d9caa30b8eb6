/** A reading as the plan needs it; for levels see levels.js. Twin of webapp/survey/profile.py. */

/** @typedef {{chainage_m: number, deg: number | null, over?: number}} Reading */

export {};
