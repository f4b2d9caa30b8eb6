/** Reads {name: source} from standard input, writes {name: [the text of each token]}, as the type checker's parser sees them. */
import { readFileSync } from 'node:fs';
import ts from 'typescript';

const found = {};
for (const [name, source] of Object.entries(JSON.parse(readFileSync(0, 'utf8')))) {
  const file = ts.createSourceFile(name, source, ts.ScriptTarget.Latest, true, ts.ScriptKind.JS);
  if (file.parseDiagnostics.length) throw new Error(`${name}: ${ts.flattenDiagnosticMessageText(file.parseDiagnostics[0].messageText, ' ')}`);
  const list = [];
  const walk = (node) => {
    if (node.kind >= ts.SyntaxKind.FirstJSDocNode && node.kind <= ts.SyntaxKind.LastJSDocNode) return;
    const children = node.getChildren(file);
    if (children.length) children.forEach(walk);
    else if (node.kind !== ts.SyntaxKind.SyntaxList && node.getText(file)) list.push(node.getText(file));
  };
  walk(file);
  found[name] = list;
}
process.stdout.write(JSON.stringify(found));
