/** The colouring grammar, the Markdown injection and the language configuration, from the vocabulary. Pure functions. */

const alternatives = (words) => [...new Set(words)].sort((a, b) => b.length - a.length || (a < b ? -1 : 1)).join('|');

/** Whole words only, in any script; a dot before or after makes another name of it. */
const whole = (words) => `(?<![\\p{L}\\p{M}\\p{N}_.])(?:${alternatives(words)})(?![\\p{L}\\p{M}\\p{N}_]|\\.[\\p{L}_])`;
const AT_START = '(?:^|(?<=[{}]))\\s*';
const END = '(?![\\p{L}\\p{M}\\p{N}_.])';

/** What the name after a statement's keyword is, in the usual scopes of editors' themes. */
const NAME_SCOPES = {
  rig: 'entity.name.namespace.rig',
  part: 'entity.name.type.part.rig',
  place: 'entity.name.type.part.rig',
  medium: 'entity.name.type.medium.rig',
  chamber: 'entity.name.type.chamber.rig',
  door: 'entity.name.type.door.rig',
  feed: 'entity.name.type.feed.rig',
  draw: 'entity.name.type.draw.rig',
  let: 'variable.other.constant.rig',
  switch: 'variable.other.signal.rig',
  sensor: 'variable.other.signal.rig',
  signal: 'variable.other.signal.rig',
  sequence: 'entity.name.section.rig',
  scenario: 'entity.name.section.rig',
};
const CONTROL = { import: 'keyword.control.import.rig', require: 'keyword.control.require.rig' };
const keywordScope = (keyword) => CONTROL[keyword] ?? 'storage.type.rig';

const includes = (...names) => names.map((name) => ({ include: `#${name}` }));

/** `keyword name …`: the keyword and the name; what follows is coloured as anywhere. */
function headRule(keyword, name) {
  const scope = NAME_SCOPES[keyword];
  if (!scope) return { match: `${AT_START}(${keyword})${END}`, captures: { 1: { name: keywordScope(keyword) } } };
  return {
    match: `${AT_START}(${keyword})${END}(?:\\s+(${name}))?`,
    captures: { 1: { name: keywordScope(keyword) }, 2: { name: scope } },
  };
}

/** A statement with a block: head and opening brace on one line, its own words within. */
function blockRule(keyword, name, content) {
  const scope = NAME_SCOPES[keyword];
  const head = scope ? `(?:\\s+(${name}))?` : '()';
  return {
    begin: `${AT_START}(${keyword})${END}${head}([^{}#"]*)(\\{)`,
    end: '\\}',
    beginCaptures: {
      1: { name: keywordScope(keyword) },
      2: { name: scope ?? 'meta.name.rig' },
      3: { patterns: includes('expression') },
      4: { name: 'punctuation.section.block.begin.rig' },
    },
    endCaptures: { 0: { name: 'punctuation.section.block.end.rig' } },
    patterns: content,
  };
}

function propertyRule(specs) {
  return { match: whole(specs.map((p) => p.keyword)), name: 'support.type.property-name.rig' };
}

/** A statement at the beginning of a line shows that a block was left open. Property keywords of a block; words between keyword and value; then values as anywhere. */
function propertyPatterns(specs) {
  const words = specs.flatMap((p) => p.words);
  const wordRule = words.length > 0 ? [{ match: whole(words), name: 'support.constant.word.rig' }] : [];
  return [
    ...includes('comment', 'statement', 'string', 'quantity'),
    propertyRule(specs),
    ...wordRule,
    ...includes('expression'),
  ];
}

const stepRule = (words) => ({ match: whole(words), name: 'keyword.other.step.rig' });

function expressionPatterns({ FUNCTIONS, EVENT_WORDS, PHASE_WORDS, DIRECTION_WORDS }, name) {
  return [
    ...includes('comment', 'string', 'quantity'),
    { match: whole(['and', 'or', 'xor', 'not']), name: 'keyword.operator.logical.rig' },
    { match: whole(['on', 'off']), name: 'constant.language.boolean.rig' },
    { match: `${whole(FUNCTIONS.map((f) => f.name))}(?=\\s*\\()`, name: 'support.function.block.rig' },
    { match: `${name}(?=\\()`, name: 'entity.name.function.rig' },
    { match: `(?<=[\\p{L}\\p{N}_]\\s)\\s*${whole(EVENT_WORDS)}`, name: 'support.constant.event.rig' },
    { match: whole(['responds', 'during', 'in', 'into', 'from']), name: 'keyword.other.link.rig' },
    { match: `(?<=[\\p{L}\\p{N}_]\\s)\\s*${whole(PHASE_WORDS)}(?=\\s*(?:\\{|#|$))`, name: 'support.constant.word.rig' },
    { match: `(?<=\\bprefer\\s)\\s*${whole(DIRECTION_WORDS)}`, name: 'support.constant.word.rig' },
    { match: '\\.\\.|\\+-|±', name: 'keyword.operator.range.rig' },
    { match: '<=|>=|<>|<|>', name: 'keyword.operator.comparison.rig' },
    { match: '=', name: 'keyword.operator.assignment.rig' },
    { match: '[-+*/]', name: 'keyword.operator.arithmetic.rig' },
    { match: ',', name: 'punctuation.separator.rig' },
    { match: '[()]', name: 'punctuation.section.group.rig' },
    { match: name, name: 'variable.other.rig' },
  ];
}

/** TextMate grammar of the language; scope `source.rig`. */
export function rigGrammar(vocabulary, { NAME, UNIT }) {
  const { STATEMENTS, PROPERTIES, BLOCK_WORDS, RESERVED_WORDS } = vocabulary;
  const properties = Object.values(PROPERTIES).flat();
  const noUnit = whole([
    ...RESERVED_WORDS,
    ...BLOCK_WORDS,
    ...STATEMENTS.map((s) => s.keyword),
    ...properties.flatMap((p) => [p.keyword, ...p.words]),
  ]);
  const blocks = Object.entries(PROPERTIES).map(([keyword, specs]) =>
    blockRule(keyword, NAME, propertyPatterns(specs)),
  );
  const steps = {
    sequence: ['at', 'open', 'close', 'repeat', 'after'],
    scenario: ['at', 'for', 'feed', 'draw', 'switch', 'sensor', 'power'],
  };
  for (const [keyword, words] of Object.entries(steps)) {
    blocks.push(
      blockRule(keyword, NAME, [
        ...includes('comment', 'statement', 'string', 'quantity'),
        stepRule(words),
        ...includes('expression'),
      ]),
    );
  }
  return {
    name: 'Rig',
    scopeName: 'source.rig',
    fileTypes: ['rig'],
    patterns: includes('comment', 'statement', 'brace', 'expression'),
    repository: {
      comment: {
        match: '(#).*$',
        name: 'comment.line.number-sign.rig',
        captures: { 1: { name: 'punctuation.definition.comment.rig' } },
      },
      string: {
        begin: '"',
        end: '"|$',
        name: 'string.quoted.double.rig',
        patterns: [
          { match: '\\\\["\\\\]', name: 'constant.character.escape.rig' },
          { match: '\\\\.', name: 'invalid.illegal.escape.rig' },
        ],
      },
      quantity: {
        match: `(?<![\\p{L}\\p{M}\\p{N}_])(\\d+(?:\\.\\d+)?)(?:[ \\t]*(?!${noUnit})(${UNIT}))?`,
        captures: { 1: { name: 'constant.numeric.decimal.rig' }, 2: { name: 'keyword.other.unit.rig' } },
      },
      brace: { match: '[{}]', name: 'punctuation.section.block.rig' },
      statement: { patterns: [...blocks, ...STATEMENTS.map((s) => headRule(s.keyword, NAME))] },
      expression: { patterns: expressionPatterns(vocabulary, NAME) },
    },
  };
}

/** Colours fenced code blocks marked `rig` in Markdown. */
export function markdownInjection() {
  return {
    scopeName: 'markdown.rig.codeblock',
    injectionSelector: 'L:text.html.markdown',
    patterns: [{ include: '#fence' }],
    repository: {
      fence: {
        begin: '(^|\\G)(\\s*)(`{3,}|~{3,})\\s*((?i:rig))(?=$|[\\s{,:])([^`]*)$',
        end: '(^|\\G)\\s*\\3[`~]*\\s*$',
        name: 'markup.fenced_code.block.markdown',
        beginCaptures: {
          3: { name: 'punctuation.definition.markdown' },
          4: { name: 'fenced_code.block.language.markdown' },
          5: { name: 'fenced_code.block.language.attributes.markdown' },
        },
        endCaptures: { 0: { name: 'punctuation.definition.markdown' } },
        patterns: [
          {
            // `while` ends the inner grammar at the fence, whatever block it is in.
            begin: '(^|\\G)(.*)',
            while: '(^|\\G)(?!\\s*(?:`{3,}|~{3,})\\s*$)',
            contentName: 'meta.embedded.block.rig',
            patterns: [{ include: 'source.rig' }],
          },
        ],
      },
    },
  };
}

/** What the editor needs to know about brackets, comments, words and indentation. */
export function languageConfiguration({ NAME_PART }) {
  const pairs = [
    ['{', '}'],
    ['(', ')'],
  ];
  return {
    comments: { lineComment: '#' },
    brackets: pairs,
    autoClosingPairs: [
      ...pairs.map(([open, close]) => ({ open, close, notIn: ['string', 'comment'] })),
      { open: '"', close: '"', notIn: ['string', 'comment'] },
    ],
    surroundingPairs: [...pairs, ['"', '"']],
    wordPattern: { pattern: `${NAME_PART}|\\d+(?:\\.\\d+)?`, flags: 'u' },
    indentationRules: {
      increaseIndentPattern: '^(?:[^#"]|"(?:[^"\\\\]|\\\\.)*")*[{(][^})"#]*(?:#.*)?$',
      decreaseIndentPattern: '^\\s*[})]',
    },
    onEnterRules: [
      {
        beforeText: '^(?:[^#"]|"(?:[^"\\\\]|\\\\.)*")*\\{\\s*$',
        afterText: '^\\s*\\}',
        action: { indent: 'indentOutdent' },
      },
      { beforeText: '^\\s*#\\s?\\S.*$', afterText: '^\\s*\\S', action: { indent: 'none', appendText: '# ' } },
    ],
    folding: { markers: { start: '^\\s*#\\s*region\\b', end: '^\\s*#\\s*endregion\\b' } },
  };
}
