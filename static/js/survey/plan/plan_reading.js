/** A reading as the plan needs it; for levels see levels.js. Twin of webapp/survey/plan/plan_reading.py. */

/** @typedef {{chainage_m: number, deg: number | null, over?: number}} Reading */

export {};
