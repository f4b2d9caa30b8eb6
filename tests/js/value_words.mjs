// {app, records} in, what the phone says out: of a check its lines, of any record its values by field
import { readFileSync } from 'node:fs';
import './english.js';
import { checkFacts, valueWords } from '../../static/js/screens/parts/describe.js';

const { app, records } = JSON.parse(readFileSync(0, 'utf8'));

function said(record) {
  const { kind, fields } = record;
  const names = Object.keys(fields);
  const values = Object.fromEntries(names.map((name) => [name, valueWords(app, null, kind, name, fields[name])]));
  return { values, facts: kind === 'check' ? checkFacts(app, null, record).facts : [] };
}

process.stdout.write(JSON.stringify(records.map(said)));
