/**
 * Reads {path: source} from standard input, writes {path: {calls, texts}}.
 * calls: those of `t(key, values)` and `message(words, key, values)`: {line, keys, names, at_load}, where a key is a pattern with `*` in place of
 * what is only known later, `names` are those of the values, or null where they are not written out, and `at_load` says that it stands outside
 * every function. texts: every literal, a template with `*` likewise, for keys stand in tables too.
 */
import { readFileSync } from 'node:fs';
import ts from 'typescript';

const KEY_AT = { t: 0, message: 1, filled: 0 };

/** @returns the literal, or the template with `*` for what is put in; null for anything else */
function literal(node) {
  if (ts.isStringLiteral(node) || ts.isNoSubstitutionTemplateLiteral(node)) return node.text;
  if (ts.isTemplateExpression(node)) return [node.head.text, ...node.templateSpans.map((one) => one.literal.text)].join('*');
  return null;
}

/** Every literal that an expression may come to. */
function keys(node) {
  const own = literal(node);
  if (own !== null) return [own];
  if (ts.isParenthesizedExpression(node)) return keys(node.expression);
  if (ts.isConditionalExpression(node)) return [...keys(node.whenTrue), ...keys(node.whenFalse)];
  return [];
}

function names(node) {
  if (!node) return [];
  if (!ts.isObjectLiteralExpression(node) || node.properties.some((one) => !one.name || ts.isComputedPropertyName(one.name))) return null;
  return node.properties.map((one) => one.name.text);
}

function read(path, source) {
  const file = ts.createSourceFile(path, source, ts.ScriptTarget.Latest, true, ts.ScriptKind.JS);
  const found = { calls: [], texts: [] };
  const walk = (node, inside) => {
    if (node.kind >= ts.SyntaxKind.FirstJSDocNode && node.kind <= ts.SyntaxKind.LastJSDocNode) return;
    const text = literal(node);
    if (text?.includes('.')) found.texts.push(text);
    const at = ts.isCallExpression(node) && ts.isIdentifier(node.expression) ? KEY_AT[node.expression.text] : undefined;
    if (at !== undefined && node.arguments.length > at) {
      found.calls.push({
        line: file.getLineAndCharacterOfPosition(node.getStart()).line + 1, keys: keys(node.arguments[at]), names: names(node.arguments[at + 1]), at_load: !inside,
      });
    }
    ts.forEachChild(node, (child) => walk(child, inside || ts.isFunctionLike(node)));
  };
  walk(file, false);
  return found;
}

const sources = Object.entries(JSON.parse(readFileSync(0, 'utf8')));
process.stdout.write(JSON.stringify(Object.fromEntries(sources.map(([path, source]) => [path, read(path, source)]))));
