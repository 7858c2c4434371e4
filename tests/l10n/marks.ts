/** What a translation must keep of a text: placeholders, what stands in backquotes, addresses of links, line ends. */

/** The marks of a text in a fixed order; two texts agree where these lists do. */
export function marks(text: string): string[] {
  const found = [/\{\w+\}/g, /`[^`]*`/g, /\]\([^)]*\)/g, /\n/g, /\$\([\w~-]+\)/g].flatMap(
    (mark) => text.match(mark) ?? [],
  );
  return found.sort();
}
