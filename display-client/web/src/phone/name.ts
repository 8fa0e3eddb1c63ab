/** What the house takes as a name (rule 7.2), checked before it is sent. Pure. */

/** User-perceived characters; rows of the wall are made for this. */
export const NAME_MAX = 40;
/** As the protocol bounds it. */
export const QUESTION_MAX = 280;

/** Control characters, and those that turn the direction of the text around them. */
const FORBIDDEN = /[\p{Cc}\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069]/u;

/** Characters as a person counts them, where the browser can tell. */
export function characters(text: string): number {
  if (!("Segmenter" in Intl)) return [...text].length;
  return [...new Intl.Segmenter(undefined, { granularity: "grapheme" }).segment(text)].length;
}

/** What is wrong with a name, as a sentence that says what to do; null where nothing is. */
export function nameProblem(name: string): string | null {
  const trimmed = name.trim();
  if (trimmed === "") return "Type the name that the coach knows you by.";
  const long = characters(trimmed);
  if (long > NAME_MAX) return `A name has up to ${NAME_MAX} characters: this one has ${long}.`;
  if (FORBIDDEN.test(trimmed)) return "This name holds a character that cannot be shown. Type it by hand.";
  return null;
}

/** What is wrong with a question to the coach; null where nothing is. */
export function questionProblem(text: string): string | null {
  if (text.trim() === "") return "Type your question first.";
  const long = characters(text.trim());
  return long > QUESTION_MAX
    ? `A question has up to ${QUESTION_MAX} characters: this one has ${long}.`
    : null;
}
