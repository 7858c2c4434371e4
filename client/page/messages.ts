/** The lines above a picture: an error of the text, a remark of the host, the caution. */
import { say } from '../../server/core/words/say';
import type { ProofMark } from '../../server/core/diagram/preview-model';
import type { Banner } from '../../server/protocol/preview';
import type { App } from './app';
import { button, h, setText } from './dom';

export interface Notices {
  readonly element: HTMLElement;
  draw(): void;
}

export function createNotices(app: App): Notices {
  const words = h('span');
  const show = button(say`Show`, say`Show the place in the source`, () =>
    app.reveal(bannerOf(app)?.source ?? null, true),
  );
  const banner = h('div', { class: 'banner', role: 'status', 'aria-live': 'polite' }, words, show);
  const caution = h('p', { class: 'caution', role: 'note' });
  const cautionWords = h('span');
  caution.append(
    cautionWords,
    button(say`Understood`, say`Do not show the caution again for this file`, () => app.dismissCaution()),
  );
  const proof = createProofLine(app);
  return {
    element: h('aside', { class: 'notices', 'aria-label': say`Notices` }, banner, caution, proof.element),
    draw() {
      const shown = bannerOf(app);
      banner.hidden = shown === null;
      banner.dataset.severity = shown?.severity ?? '';
      setText(words, shown ? bannerText(shown) : '');
      show.hidden = !shown?.source;
      const text = app.rig()?.caution ?? null;
      caution.hidden = text === null || app.cautioned();
      setText(cautionWords, text ?? '');
      proof.draw();
    },
  };
}

/** What a proof of this text found, until the text changes; each counter-example is a button that shows it. */
function createProofLine(app: App): Notices {
  const words = h('span');
  const examples = h('span');
  const element = h('p', { class: 'proof', role: 'note' }, words, examples);
  let drawn: ProofMark | null = null;
  return {
    element,
    draw() {
      const proof = app.rig()?.proof ?? null;
      element.hidden = proof === null;
      if (proof === drawn || proof === null) return;
      drawn = proof;
      element.dataset.state = proof.state;
      setText(words, `${SIGNS[proof.state]} ${proof.text}.`);
      examples.replaceChildren(
        ...proof.examples.map(({ picture, property }) =>
          button(say`Show: ${property}`, say`Show: ${property}, its counter-example`, () => app.showPicture(picture)),
        ),
      );
    },
  };
}

const SIGNS = { proved: '✓', refuted: '✗', undecided: '?' } as const;

/** What stands above: the error while the text is broken, else the host's remark. */
function bannerOf(app: App): Banner | null {
  const { stale, model } = app.session;
  if (stale) return { severity: 'error', message: stale.message, line: stale.line, source: stale.source };
  return model?.banner ?? null;
}

function bannerText(banner: Banner): string {
  return banner.line === null ? banner.message : say`Line ${banner.line}: ${banner.message}`;
}
