/** Text cursor → what of the drawing stands there. */
import type { PreviewModel, Source } from '../../server/protocol/preview';

const covers = (source: Source, uri: string, offset: number) =>
  source.uri === uri && offset >= source.start && offset <= source.end;

/** The rig around an offset and the lane whose place around it is shortest; null outside all rigs. */
export function laneAt(
  rigs: readonly PreviewModel[],
  offset: number,
  uri: string,
  trigger: number,
): { rig: string; lane: string | null } | null {
  const rig = rigs.find((r) => covers(r.source, uri, offset));
  if (!rig) return null;
  const lanes = (rig.timing[trigger] ?? rig.timing[0])?.lanes ?? [];
  const places = lanes.flatMap((lane) => lane.places.map((place) => ({ lane: lane.id, place })));
  const around = places.filter((p) => covers(p.place, uri, offset));
  around.sort((a, b) => a.place.end - a.place.start - (b.place.end - b.place.start));
  return { rig: rig.id, lane: around[0]?.lane ?? null };
}
