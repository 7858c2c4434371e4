/** Names declared with a dot, as if they stood in a placed part. */
import { type Context, report } from './context';
import { say } from '../words/say';

/** Reports each, with an edit that renames it wherever it is used in the file. */
export function reportDottedNames(ctx: Context, uri: string): void {
  for (const declaration of ctx.declarations) {
    if (!declaration.name.includes('.') || declaration.at.uri !== uri) continue;
    const plain = declaration.name.replaceAll('.', '_');
    const uses = ctx.uses.filter((use) => use.declaration === declaration.id && use.at.uri === uri);
    const edits = [declaration.at, ...uses.map((use) => use.at)].map((at) => ({ at, text: plain }));
    const message = say`A declared name has no dot; dots reach into placed parts, as in gate.upper.`;
    report(ctx, 'name/dotted', message, declaration.at, {
      fixes: [{ title: say`Rename to ${plain}`, edits, preferred: true }],
    });
  }
}
