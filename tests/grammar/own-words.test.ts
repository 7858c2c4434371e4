/** Words of the user that every JavaScript object knows, wherever a word may stand: read as any other word is. */
import { describe, expect, it } from 'vitest';
import { parse } from '../../grammar/src/api';

const NAMES = Object.getOwnPropertyNames(Object.prototype);
/** W is the word. */
const PLACES = [
  'W',
  'W ( pocket 2 L )',
  'rig W { W ( pocket 2 L ) }',
  'rig r { W x ( pocket 2 L )\n W x { W 2 L }\n W = 3 s\n W x = TON(W, 3 W) }',
  'rig r { door W ( W 2 L )\n stack W > W { W 3 }\n drive W = W(W, W)\n require W(W) >= 2 W }',
  'rig r { door x pocket 3 W, travel 3 W\n sensor W on W { W above 3 W }\n switch W = W\n sequence W on W { at W W W } }',
  'let W = 3 W in W .. W\n medium W { W W }\n part W(W W) { W W }\n import "W"\n # allow W/W: W',
  'rig r { W\n{ W } [ W ] ( W }',
];

describe.each(PLACES)('%s', (place) => {
  it.each(NAMES)('%s', (name) => {
    const read = (word: string): unknown => {
      const { problems, tokens } = parse(place.replaceAll('W', word));
      return [tokens.map((t) => t.kind), problems.map((p) => [p.code, p.message.replaceAll(word, 'W')])];
    };
    expect(read(name)).toEqual(read(name.replace(/[a-z]/gi, 'p')));
  });
});
