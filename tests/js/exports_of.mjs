/** Reads {script, folder, paths} from standard input: whether the joined modules give out what the modules themselves do. */
import { readFileSync } from 'node:fs';
import { pathToFileURL } from 'node:url';
import vm from 'node:vm';

const { script, folder, paths, call } = JSON.parse(readFileSync(0, 'utf8'));
const all = vm.runInThisContext(`'use strict';\n${script}`);
const isClass = (value) => String(value).startsWith('class');
const shown = (value) => (typeof value === 'function' && !isClass(value) ? `gives ${value(2)}` : isClass(value) ? value.name : String(value));
const found = {};
for (const path of paths) {
  const own = await import(pathToFileURL(`${folder}/${path}`).href);
  const joined = all[path];
  found[path] = {
    own: Object.keys(own).sort(), joined: Object.keys(joined).sort(),
    values: call ? Object.keys(own).sort().map((name) => [shown(own[name]), shown(joined[name])]) : [],
  };
}
process.stdout.write(JSON.stringify(found));
