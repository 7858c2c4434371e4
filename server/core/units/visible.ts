/** Characters that no reader sees but that a terminal or an eye obeys: control characters and marks that turn the direction of text. */

// eslint-disable-next-line no-control-regex -- these are what is looked for
const UNSEEN = /[\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f-\u009f\u200e\u200f\u202a-\u202e\u2066-\u2069]/g;

/** A text in which they stand as visible escapes: `\\u001b`. Line ends and tabs stay. */
export function visible(text: string): string {
  return text.replace(UNSEEN, (sign) => `\\u${sign.charCodeAt(0).toString(16).padStart(4, '0')}`);
}
