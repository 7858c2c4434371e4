/** The command that starts a new rig: an untitled document that is sound from the first line, to be changed and saved. */
import { SnippetString, window, workspace } from 'vscode';

/** A two-door rig with every part a first rig needs; the places to fill in are in the order one would think of them. */
export const NEW_RIG = `rig \${1:bench_rig} "\${2:Bench rig, compressed air}" {
  medium air

  chamber receiver { volume \${3:200 L}  pressure 1.02 bar }
  chamber store    { volume 50 L   pressure 1.02 bar  limit 6 bar }

  door upper { pocket 5 L  travel \${4:200 ms} }
  door lower { pocket 5 L  travel \${4:200 ms} }

  stack receiver > upper > lower > store

  feed compressor into receiver { rate 0.001 kg/s }

  controller { response 20 ms }

  switch run = on
  sensor ready on receiver { pressure above 1.5 bar  clears below 1.2 bar }

  signal start    = run and ready and not hold
  signal upper_on = TOF(start, \${5:1 s})
  signal passing  = TOF(upper_on, 500 ms)
  signal lower_on = TP(TON(passing and not upper_on, 300 ms), \${6:1 s})
  signal hold     = TOF(upper_on, \${7:5 s})

  drive upper = upper_on
  drive lower = lower_on

  require gap(upper, lower) >= 100 ms
  require repeat() in 6 s .. 6.5 s
}
`;

export async function newRig(): Promise<void> {
  const document = await workspace.openTextDocument({ language: 'rig', content: '' });
  const editor = await window.showTextDocument(document);
  await editor.insertSnippet(new SnippetString(NEW_RIG));
}
