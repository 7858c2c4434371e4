/** Two chambers, two doors that equalise at once, strokes that repeat: as little as has a stroke to draw. */
export const plainText = (medium: string, stack = 'a > up > low > b'): string => `rig plain {
  medium ${medium}
  chamber a { volume 2 m3  ${medium === 'air' ? 'pressure 2 bar' : 'density 5 kg/m3'} }
  chamber b { volume 1 m3  ${medium === 'air' ? 'pressure 1 bar  limit 8 bar' : ''} }
  door up  { pocket 40 L  clearance 2 L  travel 200 ms }
  door low { pocket 40 L  clearance 2 L  travel 200 ms }
  stack ${stack}
  sensor s on a { ${medium === 'air' ? 'pressure above 1.5 bar' : 'density above 4 kg/m3'} }
  signal go = s and not hold
  signal up_on = TOF(go, 1 s)
  signal low_on = TOF(TON(up_on, 800 ms), 1 s)
  signal hold = TOF(up_on, 4 s)
  drive up = up_on
  drive low = low_on
}`;
