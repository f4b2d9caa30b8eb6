/**
 * Reads {name: [before, after]} from standard input: two texts of one module that differ in the names of its inner variables only.
 * Writes {name: what differs}: for each place where a name stands for a value, the place of its declaration must be the same, and a name that is
 * declared nowhere must be spelt the same; so must every key and every property.
 */
import { readFileSync } from 'node:fs';
import ts from 'typescript';

/** @returns the declaration's place in the list of names, or the spelling of what is declared elsewhere; and the keys in order */
function read(text) {
  const host = {
    getSourceFile: (name) => (name === 'a.js' ? ts.createSourceFile(name, text, ts.ScriptTarget.Latest, true, ts.ScriptKind.JS) : undefined),
    getDefaultLibFileName: () => 'lib.d.ts', getCurrentDirectory: () => '', getCanonicalFileName: (name) => name, useCaseSensitiveFileNames: () => true,
    getNewLine: () => '\n', fileExists: (name) => name === 'a.js', readFile: () => undefined, writeFile: () => undefined,
  };
  const program = ts.createProgram(['a.js'], { allowJs: true, noLib: true, noResolve: true, target: ts.ScriptTarget.Latest }, host);
  const checker = program.getTypeChecker();
  const file = program.getSourceFile('a.js');
  if (file.parseDiagnostics.length) throw new Error(ts.flattenDiagnosticMessageText(file.parseDiagnostics[0].messageText, ' '));
  const names = [];
  const keys = [];
  const walk = (node) => {
    if (ts.isIdentifier(node)) {
      const { parent } = node;
      if (ts.isShorthandPropertyAssignment(parent) && parent.name === node) {
        keys.push(node.text);
        names.push([node, checker.getShorthandAssignmentValueSymbol(parent)]);
      } else if (ts.isBindingElement(parent) && parent.name === node && !parent.propertyName && ts.isObjectBindingPattern(parent.parent) && !parent.dotDotDotToken) {
        keys.push(node.text);
        names.push([node, checker.getSymbolAtLocation(node)]);
      } else if (isKey(node, parent)) keys.push(node.text);
      else names.push([node, checker.getSymbolAtLocation(node)]);
    }
    ts.forEachChild(node, walk);
  };
  ts.forEachChild(file, walk);
  const at = new Map(names.map(([node], i) => [node, i]));
  const places = names.map(([node, symbol]) => {
    const own = symbol?.declarations?.find((one) => one.getSourceFile() === file);
    const named = own && (own.name ?? own);
    return at.has(named) ? at.get(named) : node.text;
  });
  return { places, keys };
}

function isKey(node, parent) {
  return (ts.isPropertyAccessExpression(parent) && parent.name === node) || (ts.isPropertyAssignment(parent) && parent.name === node)
    || ((ts.isMethodDeclaration(parent) || ts.isPropertyDeclaration(parent) || ts.isAccessor(parent)) && parent.name === node)
    || (ts.isBindingElement(parent) && parent.propertyName === node) || ts.isLabeledStatement(parent) || ts.isBreakOrContinueStatement(parent);
}

const found = {};
for (const [name, [before, after]] of Object.entries(JSON.parse(readFileSync(0, 'utf8')))) {
  const one = read(before);
  const other = read(after);
  for (const part of ['places', 'keys']) {
    const length = Math.max(one[part].length, other[part].length);
    for (let i = 0; i < length && !found[name]; i += 1) {
      if (one[part][i] !== other[part][i]) found[name] = `${part} ${i}: ${one[part][i]} became ${other[part][i]}`;
    }
  }
}
process.stdout.write(JSON.stringify(found));
