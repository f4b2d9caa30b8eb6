/**
 * Reads {folder} from standard input; writes the exports of its modules that nothing reaches: [[module, name], ...].
 * A caller is what runs when a module is loaded, and every declaration that such a caller names, over any number of steps;
 * a module that is handed on whole (`import * as x` as a value, `import('...')`, `module('...')`) gives out all it has.
 */
import { readFileSync, readdirSync } from 'node:fs';
import { join, relative, sep } from 'node:path';
import ts from 'typescript';

const { folder } = JSON.parse(readFileSync(0, 'utf8'));
const paths = readdirSync(folder, { recursive: true }).map(String).filter((name) => name.endsWith('.js')).map((name) => join(folder, name));
const program = ts.createProgram(paths, {
  allowJs: true, noLib: true, target: ts.ScriptTarget.Latest, module: ts.ModuleKind.ESNext, moduleResolution: ts.ModuleResolutionKind.Bundler, types: [],
});
const checker = program.getTypeChecker();
const files = paths.map((path) => program.getSourceFile(path)).filter((file) => file !== undefined);
const reached = new Set();
const ahead = [];

function reach(node) {
  if (reached.has(node)) return;
  reached.add(node);
  ahead.push(node);
}

/** What a name stands for, in whichever module it was declared. */
function meant(symbol) {
  return symbol && symbol.flags & ts.SymbolFlags.Alias ? checker.getAliasedSymbol(symbol) : symbol;
}

/** The top-level statement that holds a declaration, or the part of it that declares one name. */
function topOf(node) {
  let at = node;
  while (at.parent && !ts.isSourceFile(at.parent)) {
    if (ts.isVariableDeclaration(at) && ts.isSourceFile(at.parent.parent.parent)) return at;
    at = at.parent;
  }
  return at;
}

function isDeclaration(statement) {
  return ts.isFunctionDeclaration(statement) || ts.isClassDeclaration(statement) || ts.isImportDeclaration(statement)
    || ts.isExportDeclaration(statement);
}

/** A constant is declared without running anything where its value is written down or is a function. */
function isQuiet(declaration) {
  const value = declaration.initializer;
  return !value || ts.isArrowFunction(value) || ts.isFunctionExpression(value) || ts.isLiteralExpression(value);
}

function named(callee) {
  return ts.isPropertyAccessExpression(callee) ? callee.name.text : callee.getText();
}

function reachAll(module) {
  for (const one of checker.getExportsOfModule(module)) for (const declared of meant(one)?.declarations ?? []) reach(topOf(declared));
}

function follow(node) {
  if (ts.isCallExpression(node) && node.expression.kind === ts.SyntaxKind.ImportKeyword) {
    const module = checker.getSymbolAtLocation(node.arguments[0]);
    if (module) reachAll(module);
  }
  if (ts.isCallExpression(node) && node.arguments.length === 1 && ts.isStringLiteral(node.arguments[0]) && named(node.expression) === 'module') {
    const file = program.getSourceFile(join(folder, node.arguments[0].text));
    if (file) reachAll(checker.getSymbolAtLocation(file));
  }
  if (ts.isIdentifier(node)) {
    const symbol = ts.isShorthandPropertyAssignment(node.parent) ? checker.getShorthandAssignmentValueSymbol(node.parent) : checker.getSymbolAtLocation(node);
    const found = meant(symbol);
    if (found?.flags & ts.SymbolFlags.ValueModule) {
      if (!ts.isPropertyAccessExpression(node.parent) || node.parent.expression !== node) reachAll(found);
    } else for (const declared of found?.declarations ?? []) if (files.includes(declared.getSourceFile())) reach(topOf(declared));
  }
  ts.forEachChild(node, follow);
}

for (const file of files) {
  for (const statement of file.statements) {
    if (ts.isVariableStatement(statement)) statement.declarationList.declarations.filter((one) => !isQuiet(one)).forEach(reach);
    else if (!isDeclaration(statement)) reach(statement);
  }
}
while (ahead.length) follow(ahead.pop());

const unreached = [];
for (const file of files) {
  const module = checker.getSymbolAtLocation(file);
  if (!module) continue;
  for (const one of checker.getExportsOfModule(module).filter((found) => meant(found)?.flags & ts.SymbolFlags.Value)) {
    const own = meant(one)?.declarations?.filter((declared) => declared.getSourceFile() === file) ?? [];
    if (own.length && !own.some((declared) => reached.has(topOf(declared)))) unreached.push([relative(folder, file.fileName).split(sep).join('/'), one.name]);
  }
}
process.stdout.write(JSON.stringify(unreached));
