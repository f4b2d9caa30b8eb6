/**
 * Reads {path: source} from standard input, writes {path: [[line, text], ...]}: the literals that a person may come to read.
 * Shown is what stands where an element takes its content or a label, and what reads like words wherever it stands: two words, a capital
 * letter with small ones behind it, letters beside a blank that holds them to a value. What only the machine reads is known by its place:
 * keys and classes, selectors, comparisons, headers, the console.  In a template `*` stands for what is put in.
 */
import { readFileSync } from 'node:fs';
import ts from 'typescript';

const ELEMENTS = new Set(['h', 's']);
const CONTAINERS = new Set(['note', 'section', 'refill', 'append', 'prepend', 'replaceChildren', 'announce', 'say', 'tell', 'piece', 'snack', 'offer', 'button', 'linkRow']);
const LABELS = new Set(['aria-label', 'aria-roledescription', 'aria-valuetext', 'title', 'alt', 'placeholder', 'label', 'words', 'help', 'textContent', 'ariaLabel', 'innerText']);
const MACHINE = new Set([
  'class', 'className', 'd', 'viewBox', 'transform', 'points', 'id', 'for', 'href', 'src', 'key', 'tone', 'icon', 'accept', 'type', 'role', 'name', 'kind', 'text-anchor',
  'aria-describedby', 'aria-labelledby', 'preserveAspectRatio', 'autocomplete', 'pattern', 'patternTransform', 'style', 'capture', 'format', 'month',
]);
const FOR_MACHINES = new Set([
  'querySelector', 'querySelectorAll', 'closest', 'matches', 'matchMedia', 'mark', 'Symbol', 'RegExp', 'get', 'has', 'includes', 'startsWith', 'endsWith', 'indexOf', 'split',
  'test', 'addEventListener', 'removeEventListener', 'warn', 'error', 'replace', 'replaceAll', 'createElement', 't', 'message', 'setAttribute', 'toggle', 'dispatchEvent', 'Event',
  'icon', 'matchAll', 'match', 'DOMException', 'open', 'getItem', 'setItem',
]);
const COMPARES = new Set(['===', '!==', '==', '!=', 'in', 'instanceof']);

function textOf(node) {
  if (ts.isStringLiteral(node) || ts.isNoSubstitutionTemplateLiteral(node)) return node.text;
  if (ts.isTemplateExpression(node)) return [node.head.text, ...node.templateSpans.map((one) => one.literal.text)].join('*');
  return null;
}

const called = (node) => (ts.isIdentifier(node) ? node.text : ts.isPropertyAccessExpression(node) ? node.name.text : '');

/** Up through what only hands a value on: brackets, either side of a choice, lists, joining. */
function taker(node) {
  let [one, above] = [node, node.parent];
  while (
    ts.isParenthesizedExpression(above) || (ts.isConditionalExpression(above) && above.condition !== one) || ts.isArrayLiteralExpression(above) || ts.isSpreadElement(above)
    || (ts.isBinaryExpression(above) && ['||', '??', '&&', '+'].includes(above.operatorToken.getText()))
  ) [one, above] = [above, above.parent];
  return [one, above];
}

/** 'shown', 'machine' or '' where its place does not say. */
function place(node) {
  const [one, above] = taker(node);
  if (ts.isImportDeclaration(above) || ts.isExportDeclaration(above) || ts.isCaseClause(above) || ts.isElementAccessExpression(above) || ts.isExpressionStatement(above)) return 'machine';
  if (ts.isBinaryExpression(above) && COMPARES.has(above.operatorToken.getText())) return 'machine';
  if (ts.isPropertyAssignment(above) || ts.isBindingElement(above)) {
    if (above.initializer !== one) return 'machine';
    const name = above.name.text ?? '';
    return LABELS.has(name) ? 'shown' : MACHINE.has(name) || name.startsWith('data-') ? 'machine' : '';
  }
  if (ts.isBinaryExpression(above) && above.operatorToken.getText() === '=' && ts.isPropertyAccessExpression(above.left)) {
    const name = above.left.name.text;
    return LABELS.has(name) ? 'shown' : MACHINE.has(name) ? 'machine' : '';
  }
  if (!ts.isCallExpression(above) && !ts.isNewExpression(above)) return '';
  const name = called(above.expression);
  const at = (above.arguments ?? []).indexOf(one);
  if (ELEMENTS.has(name)) return at >= 2 ? 'shown' : 'machine';
  if (CONTAINERS.has(name)) return (name === 'note' || name === 'piece') && at === 0 ? 'machine' : name === 'linkRow' && at < 2 ? 'machine' : name === 'piece' && at === 1 ? 'machine' : 'shown';
  return FOR_MACHINES.has(name) ? 'machine' : '';
}

const readsLikeWords = (text) => /\p{L}[,.;:]? +\p{L}/u.test(text) || /^\p{Lu}\p{Ll}/u.test(text) || /[*\d] \p{L}|\p{L} [*\d]|^ \p{L}|\p{L} $/u.test(text);

function read(path, source) {
  const file = ts.createSourceFile(path, source, ts.ScriptTarget.Latest, true, ts.ScriptKind.JS);
  const found = [];
  const walk = (node) => {
    if (node.kind >= ts.SyntaxKind.FirstJSDocNode && node.kind <= ts.SyntaxKind.LastJSDocNode) return;
    const text = textOf(node);
    if (text !== null && /\p{L}/u.test(text)) {
      const where = place(node);
      if (where === 'shown' || (where === '' && readsLikeWords(text))) found.push([file.getLineAndCharacterOfPosition(node.getStart()).line + 1, text]);
    }
    ts.forEachChild(node, walk);
  };
  walk(file);
  return found;
}

const sources = Object.entries(JSON.parse(readFileSync(0, 'utf8')));
process.stdout.write(JSON.stringify(Object.fromEntries(sources.map(([path, source]) => [path, read(path, source)]).filter(([, some]) => some.length))));
