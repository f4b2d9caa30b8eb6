// Answers one line at a time. Used by tests/twin.py.
// [[module, name, args], ...] in, [{ok} or {error}, ...] out; {keep: value} in, {$kept: n} out, which stands for the value
// among the args of later calls.
import { createInterface } from 'node:readline';

const root = new URL('../../static/js/', import.meta.url);
const modules = new Map();
const kept = [];

// JSON has no NaN and no infinities: they come as {$number: text}
function revive(key, value) {
  return value && typeof value === 'object' && '$number' in value ? Number(value.$number) : value;
}

// What was kept may also be a value of an argument that is one record of many values.
function given(arg) {
  const one = (value) => (value && typeof value === 'object' && '$kept' in value ? kept[value.$kept] : value);
  if (!arg || typeof arg !== 'object' || Array.isArray(arg) || '$kept' in arg) return one(arg);
  return Object.fromEntries(Object.entries(arg).map(([name, value]) => [name, one(value)]));
}

async function answer([module, name, args]) {
  try {
    if (!modules.has(module)) modules.set(module, await import(new URL(`${module}.js`, root)));
    return { ok: modules.get(module)[name](...args.map(given)) ?? null };
  } catch (error) {
    return { error: { code: error.code ?? null, field: error.field ?? null, index: error.index ?? null, message: String(error) } };
  }
}

for await (const line of createInterface({ input: process.stdin })) {
  const requested = line.includes('"$number"') ? JSON.parse(line, revive) : JSON.parse(line);
  let answers = [];
  if (Array.isArray(requested)) for (const one of requested) answers.push(await answer(one));
  else answers = { $kept: kept.push(requested.keep) - 1 };
  process.stdout.write(`${JSON.stringify(answers)}\n`);
}
