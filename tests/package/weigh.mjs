/** Looks into a packaged extension: nothing but what is meant to be there, nothing missing, and not too heavy. */

// Command line and server are one bundle with everything in it, 600 KB of the package; what one language's tools usually weigh is 0.3 to 1 MB.
// A translation weighs 26 KB: its keys are the English texts, as the editor wants them, and nothing in them stands twice.
export const MOST_BYTES = 1_090_000;

/** Files of the extension, without what the package format adds. */
export const CONTENT = [
  'CHANGELOG.md',
  'LICENSE',
  'README.md',
  'client/icons/caisson.png',
  'client/icons/rig-dark.svg',
  'client/icons/rig-light.svg',
  'client/l10n/bundle.l10n.de.json',
  'client/page/markdown.css',
  'client/walkthrough/careful.md',
  'client/walkthrough/careful.nls.de.md',
  'client/walkthrough/mend.md',
  'client/walkthrough/mend.nls.de.md',
  'client/walkthrough/new.md',
  'client/walkthrough/new.nls.de.md',
  'client/walkthrough/require.md',
  'client/walkthrough/require.nls.de.md',
  'client/walkthrough/windows.svg',
  'dist/THIRD-PARTY-NOTICES.txt',
  'dist/caisson.js',
  'dist/extension.cjs',
  'dist/extension.web.js',
  'dist/preview.css',
  'dist/preview.js',
  'grammar/REFERENCE.md',
  'grammar/textmate/language-configuration.json',
  'grammar/textmate/markdown-rig.tmLanguage.json',
  'grammar/textmate/rig.tmLanguage.json',
  'package.json',
  'package.nls.de.json',
  'package.nls.json',
];

/** Names and compressed sizes in a zip archive, read from its central directory (APPNOTE 4.3.12, 4.3.16). */
export function entriesOf(zip) {
  const end = zip.lastIndexOf(Buffer.from('PK\u0005\u0006', 'latin1'));
  let at = zip.readUInt32LE(end + 16);
  const entries = [];
  for (let left = zip.readUInt16LE(end + 10); left > 0; left--) {
    const [name, extra, comment] = [28, 30, 32].map((offset) => zip.readUInt16LE(at + offset));
    entries.push({ name: zip.toString('utf8', at + 46, at + 46 + name), bytes: zip.readUInt32LE(at + 20) });
    at += 46 + name + extra + comment;
  }
  return entries;
}

/** What is wrong with a package, one sentence each; empty where nothing is. */
export function faultsOf(zip) {
  const lower = (name) => name.toLowerCase().replace(/\.(md|txt)$/, '');
  const names = entriesOf(zip)
    .filter((entry) => entry.name.startsWith('extension/'))
    .map((entry) => entry.name.slice('extension/'.length));
  const found = new Set(names.map(lower));
  const wanted = new Set(CONTENT.map(lower));
  const faults = [
    ...CONTENT.filter((name) => !found.has(lower(name))).map((name) => `missing: ${name}`),
    ...names.filter((name) => !wanted.has(lower(name))).map((name) => `not meant to be there: ${name}`),
  ];
  if (zip.length > MOST_BYTES) faults.push(`${zip.length} bytes, more than ${MOST_BYTES}`);
  return faults;
}
