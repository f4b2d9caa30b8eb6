/**
 * Reads {path: source} from standard input, writes {path: [[line, text], ...]}: the signs that hold pieces of a sentence together.
 * A sign between two pieces is a language's own, as its words are: `join` with one, one as what an element shows, and a template of
 * nothing but signs around a sentence.
 */
import { readFileSync } from 'node:fs';
import ts from 'typescript';

const SIGN = /[.,;:·–—+()/]/;
const LETTER = /[\p{L}\p{N}]/u;
const SAYS = /^(t|message|\w+(Text|Words|Word|Line|Sentence)|sentence|label|words)$/;
const SHOWS = new Set(['h', 's', 'section', 'refill', 'append', 'replaceChildren']);

function textOf(node) {
  if (ts.isStringLiteral(node) || ts.isNoSubstitutionTemplateLiteral(node)) return node.text;
  if (ts.isTemplateExpression(node)) return [node.head.text, ...node.templateSpans.map((one) => one.literal.text)].join('*');
  return null;
}

const nameOf = (node) => (ts.isIdentifier(node) ? node.text : ts.isPropertyAccessExpression(node) ? node.name.text : '');

/** Whether an expression brings words of a sentence. */
function says(node) {
  if (SAYS.test(nameOf(ts.isCallExpression(node) ? node.expression : node))) return true;
  return ts.isConditionalExpression(node) ? says(node.whenTrue) || says(node.whenFalse) : ts.isBinaryExpression(node) && (says(node.left) || says(node.right));
}

/** Up through what only hands a value on. */
function taker(node) {
  let [one, above] = [node, node.parent];
  while (ts.isParenthesizedExpression(above) || ts.isConditionalExpression(above) || ts.isArrayLiteralExpression(above) || ts.isSpreadElement(above)) [one, above] = [above, above.parent];
  return [one, above];
}

function isGlue(node) {
  const text = textOf(node);
  if (text === null || text === '' || LETTER.test(text.replaceAll('*', ''))) return false;
  const [one, above] = taker(node);
  const name = ts.isCallExpression(above) ? nameOf(above.expression) : '';
  if (name === 'join') return one === above.arguments[0] && !/^[\n,]$/.test(text) && / |[;·–+]/.test(text);
  const from = name === 'h' || name === 's' ? 2 : 1;
  if (!ts.isTemplateExpression(node)) return SHOWS.has(name) && above.arguments.indexOf(one) >= from && SIGN.test(text) && / /.test(text);
  return /[ :;·]/.test(text) && node.templateSpans.some((span) => says(span.expression));
}

function glueIn(source) {
  const file = ts.createSourceFile('x.js', source, ts.ScriptTarget.Latest, true);
  const found = [];
  const visit = (node) => {
    if (isGlue(node)) found.push([file.getLineAndCharacterOfPosition(node.getStart()).line + 1, textOf(node)]);
    node.forEachChild(visit);
  };
  visit(file);
  return found;
}

const sources = JSON.parse(readFileSync(0, 'utf8'));
process.stdout.write(JSON.stringify(Object.fromEntries(Object.entries(sources).map(([path, source]) => [path, glueIn(source)]))));
