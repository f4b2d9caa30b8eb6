// Where JavaScript says that a value may be anything: each such type in JSDoc, by file and line.
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import ts from 'typescript';

const { folder } = JSON.parse(readFileSync(0, 'utf8'));

/** Names that tsc takes for `any` where they stand alone in JSDoc. */
const LOOSE = new Set(['Object', 'Function', 'Array', 'Promise']);

/** @param {ts.Node} node */
function isAny(node) {
  if (node.kind === ts.SyntaxKind.AnyKeyword || node.kind === ts.SyntaxKind.JSDocAllType) return true;
  return ts.isTypeReferenceNode(node) && !node.typeArguments && LOOSE.has(node.typeName.getText());
}

const found = [];
for (const path of readdirSync(folder, { recursive: true }).filter((one) => one.endsWith('.js')).sort()) {
  const text = readFileSync(join(folder, path), 'utf8');
  const source = ts.createSourceFile(path, text, ts.ScriptTarget.Latest, true, ts.ScriptKind.JS);
  const seen = new Set();
  const visit = (node) => {
    if (isAny(node) && !seen.has(node.pos)) {
      seen.add(node.pos);
      found.push([path.replaceAll('\\', '/'), source.getLineAndCharacterOfPosition(node.getStart()).line + 1]);
    }
    for (const doc of node.jsDoc ?? []) visit(doc);
    ts.forEachChild(node, visit);
  };
  visit(source);
}
process.stdout.write(JSON.stringify(found));
