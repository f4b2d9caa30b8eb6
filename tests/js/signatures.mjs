/**
 * Reads {folder} from standard input; writes [{path, name, exported, parameters, returns, loose}, ...]: every function of its modules
 * with the number of its parameters and the text of what it returns by its JSDoc; `loose`: the aliases of its module that stand for anything.
 */
import { readFileSync, readdirSync } from 'node:fs';
import { join, relative, sep } from 'node:path';
import ts from 'typescript';

const { folder } = JSON.parse(readFileSync(0, 'utf8'));
const LOOSE = /@typedef \{(?:Object<string, any>|any|any\[\])\} (\w+)/g;
const found = [];
for (const name of readdirSync(folder, { recursive: true }).filter((one) => one.endsWith('.js'))) {
  const text = readFileSync(join(folder, name), 'utf8');
  const loose = [...text.matchAll(LOOSE)].map((one) => one[1]);
  const file = ts.createSourceFile(name, text, ts.ScriptTarget.Latest, true, ts.ScriptKind.JS);
  const walk = (node) => {
    if (ts.isFunctionLike(node) && node.parameters) {
      found.push({
        path: relative(folder, join(folder, name)).split(sep).join('/'),
        name: (node.name ?? node.parent.name)?.getText() ?? '(a function without a name)',
        exported: (ts.getCombinedModifierFlags(node) & ts.ModifierFlags.Export) !== 0,
        parameters: node.parameters.length,
        returns: ts.getJSDocReturnType(node)?.getText() ?? '',
        loose
      });
    }
    ts.forEachChild(node, walk);
  };
  walk(file);
}
process.stdout.write(JSON.stringify(found));
