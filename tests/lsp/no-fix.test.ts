/** Where no quick fix was found, an editor that shows why an action cannot be taken gets the reason; others get nothing. */
import { expect, it } from 'vitest';
import type { CodeAction } from 'vscode-languageserver';
import { FULL_CLIENT, startSession } from './session';

const URI = 'file:///lock.rig';
const TEXT = `rig lock {
  controller { response 10 ms }
  chamber room { volume 1 m3 }
  chamber yard { volume 2 m3 }
  door a { travel 100 ms }
  door b { travel 100 ms }
  stack room > a > b > yard
  switch go = off
  signal long = TP(go, 650 ms)
  signal a_on = TP(long, 640 ms)
  signal b_on = TP(TON(long, 100 ms), 1.2 s)
  drive a = a_on
  drive b = b_on
}
`;

it.each([true, false])('an action that cannot be taken: %s', async (disabledSupport) => {
  const codeAction = { ...FULL_CLIENT.textDocument!.codeAction, disabledSupport };
  const capabilities = { ...FULL_CLIENT, textDocument: { ...FULL_CLIENT.textDocument, codeAction } };
  const session = await startSession({ capabilities });
  session.open(URI, TEXT);
  const actions = await session.ask<CodeAction[]>('textDocument/codeAction', {
    textDocument: { uri: URI },
    range: { start: { line: 0, character: 0 }, end: { line: 14, character: 0 } },
    context: { diagnostics: [] },
  });
  const reasons = actions.flatMap((action) => action.disabled?.reason ?? []);
  expect(reasons.length > 0).toBe(disabledSupport);
  expect(reasons.every((reason) => /^No quick fix because .*\.$/.test(reason))).toBe(true);
  expect(actions.filter((action) => action.disabled && (action.edit || action.command))).toEqual([]);
  await session.close();
});
