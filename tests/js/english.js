/** Fills the app's words with the English catalogue, as its data does in a browser. */
import { readFileSync } from 'node:fs';
import { words } from '../../static/js/text/words.js';

Object.assign(
  words,
  JSON.parse(readFileSync(new URL('../../webapp/tables/messages/en.json', import.meta.url), 'utf8'))
);
