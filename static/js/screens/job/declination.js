/**
 * Asks the server for the magnetic declination of a place and day; the phone itself holds no model of the
 * field.
 */
import { fixedSignedText } from '../../text/survey_words.js';
import { day } from '../../ui/format.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../ui/types.js').App} App */

const PATIENCE_MS = 8000;

/**
 * Keeps the answer with the job and says what came of it.
 * @param {App} app
 * @param {string} jobId
 * @param {{lat_deg: number, lon_deg: number}} place
 * @param {string} on a date
 * @returns {Promise<string>}
 */
export async function fetchDeclination(app, jobId, place, on) {
  const query = new URLSearchParams({ lat_deg: String(place.lat_deg), lon_deg: String(place.lon_deg), on });
  let answer;
  let body;
  try {
    answer = await fetch(`/api/declination?${query}`, {
      signal: AbortSignal.timeout(PATIENCE_MS),
      credentials: 'same-origin'
    });
    body = await answer.json();
  } catch {
    return t(answer?.status === 404 ? 'trace.not_offered' : 'trace.not_reached');
  }
  const value = body?.declination_deg;
  if (!answer.ok || typeof value !== 'number')
    return answer.status === 404
      ? t('trace.not_offered')
      : t('trace.not_given', { why: body?.errors?.[0]?.message ?? String(answer.status) });
  const { sd_deg: sd, model } = body;
  await app.store.save(jobId, 'job', jobId, {
    declination_deg: value,
    declination_known: 'model',
    declination_sd_deg: typeof sd === 'number' ? Number(sd.toFixed(3)) : null,
    declination_model: typeof model === 'string' ? t('trace.model_day', { model, on: day(on) }) : null
  });
  return t('trace.got', { deg: fixedSignedText(value, 2) });
}
