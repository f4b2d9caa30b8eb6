// Answers one call a line: {module, name, args} in, {ok} or {error} out. Used by tests/twin.py.
import { createInterface } from 'node:readline';

const root = new URL('../../static/js/', import.meta.url);
const modules = new Map();

for await (const line of createInterface({ input: process.stdin })) {
  const { module, name, args } = JSON.parse(line);
  let answer;
  try {
    if (!modules.has(module)) modules.set(module, await import(new URL(`${module}.js`, root)));
    answer = { ok: modules.get(module)[name](...args) ?? null };
  } catch (error) {
    answer = { error: { code: error.code ?? null, field: error.field ?? null, index: error.index ?? null, message: String(error) } };
  }
  process.stdout.write(`${JSON.stringify(answer)}\n`);
}
