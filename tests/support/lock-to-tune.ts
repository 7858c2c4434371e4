/** A lock with one constant, `held`, that decides how long its front door stays open. */
export const lockToTune = ({ range, aim }: { readonly range: string; readonly aim: string }): string => `rig lock {
  medium air
  chamber hall { volume 3 m3  pressure 1 bar }
  chamber room { volume 3 m3  pressure 1 bar }
  let held = 300 ms ${range}
  door front { pocket 6 L  travel 180 ms }
  door back  { pocket 6 L  travel 180 ms }
  stack hall > front > back > room
  sensor full on hall { pressure above 2 bar  clears below 1.5 bar }
  controller { response 12 ms }
  signal rest = TOF(go, 3 s)
  signal go = TP(full and not rest, held)
  drive front = go
  drive back = TP(TON(TOF(go, 900 ms), 800 ms), 400 ms)
  ${aim}
}`;
