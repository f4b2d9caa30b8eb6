// Answers one call a line: {module, name, args} in, {ok} or {error} out. Used by tests/twin.py.
import { createInterface } from 'node:readline';

const root = new URL('../../static/js/', import.meta.url);
const modules = new Map();

// JSON has no NaN and no infinities: they come as {$number: text}
function revive(key, value) {
  return value && typeof value === 'object' && '$number' in value ? Number(value.$number) : value;
}

for await (const line of createInterface({ input: process.stdin })) {
  const { module, name, args } = JSON.parse(line, revive);
  let answer;
  try {
    if (!modules.has(module)) modules.set(module, await import(new URL(`${module}.js`, root)));
    answer = { ok: modules.get(module)[name](...args) ?? null };
  } catch (error) {
    answer = { error: { code: error.code ?? null, field: error.field ?? null, index: error.index ?? null, message: String(error) } };
  }
  process.stdout.write(`${JSON.stringify(answer)}\n`);
}
