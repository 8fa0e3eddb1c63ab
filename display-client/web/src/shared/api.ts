/** Requests to the house over HTTP, each answered with JSON, or with what went wrong in a sentence to show. */
export type Answer<T> = { ok: true; value: T } | { ok: false; status: number; problem: string };

/** Nobody on the floor waits longer than this for an answer. */
const ANSWER_MAX_MS = 10_000;

export const get = <T>(path: string): Promise<Answer<T>> => request("GET", path);
export const post = <T>(path: string, body: unknown = {}): Promise<Answer<T>> =>
  request("POST", path, asJson(body));
export const put = <T>(path: string, body: unknown): Promise<Answer<T>> => request("PUT", path, asJson(body));

/** What is sent, and of which media type. */
export interface Body {
  type: string;
  text: string;
}

const asJson = (body: unknown): Body => ({ type: "application/json", text: JSON.stringify(body) });

/** One request; `read` makes of the answer's text what it says. */
export async function request<T>(
  method: string,
  path: string,
  body?: Body,
  read: (text: string) => T = (text) => (text === "" ? null : JSON.parse(text)) as T,
): Promise<Answer<T>> {
  try {
    const response = await fetch(path, {
      method,
      credentials: "same-origin",
      signal: AbortSignal.timeout(ANSWER_MAX_MS),
      ...(body === undefined ? {} : { body: body.text, headers: { "content-type": body.type } }),
    });
    const text = await response.text();
    if (response.ok) return { ok: true, value: read(text) };
    return { ok: false, status: response.status, problem: problemOf(text, response.status) };
  } catch {
    return { ok: false, status: 0, problem: "The house does not answer. Check the network and try again." };
  }
}

/** The sentence of an `application/problem+json` answer (RFC 9457), or the answer itself where it is plain text. */
function problemOf(text: string, status: number): string {
  try {
    const { detail, title } = JSON.parse(text) as { detail?: string; title?: string };
    return detail ?? title ?? `The house answered ${status}.`;
  } catch {
    return text.trim() || `The house answered ${status}.`;
  }
}
