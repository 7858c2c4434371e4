/** `flow/overflow`: a liquid comes up to the rim of its chamber. */
import { preparedFilling } from './prepared';
import { fullMass } from '../../flow/vessel';
import { quickRun } from '../../run/scenario-run';
import { formatSi } from '../../units/units';
import { type Check, found } from '../check';
import { say } from '../../words/say';

/** More than rounding above the rim. */
const OVER = 1 + 1e-6;

/** The run ends at the rim: how much more comes is not known. */
const BARELY = 1.001;

function after(strokes: number): string {
  if (strokes === 0) return say`although no stroke starts`;
  return strokes === 1
    ? say`after 1 stroke, when no further one starts`
    : say`after ${strokes} strokes, when no further one starts`;
}

export const overflow: Check = {
  code: 'flow/overflow',
  title: 'A liquid comes over the rim',
  severity: 'warning',
  explanation:
    'With its feeds and draws on and its sensors as the contents give them, the rig brings more liquid into a chamber than it has room for. Chambers that state a `pressure` are closed vessels and are not judged here: a `limit` judges those. Stop the feed or the strokes with a sensor on the level, draw more, or make the chamber larger.',
  prepare: preparedFilling,
  run({ rig, facts }) {
    const filling = facts.flow?.filling;
    const model = quickRun(rig)?.model;
    if (!filling || model?.law.phase !== 'liquid') return [];
    const { law, vessels } = model;
    return rig.chambers.flatMap((chamber, k) => {
      const room = fullMass(law, vessels[k]!);
      const held = filling.highest[k]!.mass;
      if (chamber.pressure || !(room > 0) || held <= room * OVER) return [];
      const message = filling.rising.includes(k)
        ? say`${chamber.name} goes on being fed ${after(filling.strokes)}, and nothing stops the feed: it has room for ${formatSi(room, 'mass')}, then the liquid overflows.`
        : held < room * BARELY
          ? say`${chamber.name} is filled to its rim (${formatSi(room, 'mass')}) and goes on being filled: the liquid overflows.`
          : say`${chamber.name} has room for ${formatSi(room, 'mass')}, and the rig brings it to ${formatSi(held, 'mass')}: the liquid overflows.`;
      const feeds = rig.lines.filter((line) => line.kind === 'feed' && line.chamber === k);
      const related = feeds.map((line) => ({ at: line.at, message: say`feeds it` }));
      return [found(overflow, chamber.at, message, { chambers: [k] }, { related })];
    });
  },
};
