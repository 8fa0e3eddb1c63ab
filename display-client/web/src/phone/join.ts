/**
 * Coming in: by the class code of a fragment or typed, or by a personal link. Says plainly what is wrong where a code
 * does not exist or has ended. What it draws stands in `screens/join.ts`.
 */

import { AS_WRITTEN } from "../counting/plan";
import { type Answer, post } from "../shared/api";
import type { AthleteId, Block, Choice, ClassId } from "../shared/wire";
import { nameProblem } from "./name";
import { setMe } from "./settings";

/** What the house tells of a class by its code. */
export interface Look {
  title: string;
  class: ClassId;
  blocks: Block[];
  expected: { athlete: AthleteId; name: string }[];
}

interface Joined {
  athlete: AthleteId;
  class: ClassId;
}

export type Stage = { stage: "code" } | { stage: "asking" } | { stage: "who"; code: string; look: Look };

/** What the address brings along: a class code, a personal link's token, or nothing. */
export type Brought = { by: "code"; code: string } | { by: "link"; token: string } | { by: "nothing" };

/** Reads the fragment; secrets stand there because it is never sent. */
export function brought(fragment: string): Brought {
  const found = new URLSearchParams(fragment.replace(/^#/, ""));
  const [code, token] = [found.get("c")?.trim(), found.get("me")?.trim()];
  if (token) return { by: "link", token };
  return code ? { by: "code", code } : { by: "nothing" };
}

export class Join {
  stage: Stage = { stage: "code" };
  problem: string | null = null;
  /** The code as typed. */
  code = "";
  name = "";
  expected: AthleteId | null = null;
  choice: Choice = AS_WRITTEN;
  busy = false;

  constructor(
    readonly changed: () => void,
    private readonly joined: () => void,
  ) {}

  /** Asks what class a code belongs to; goes straight in where this phone is in it already. */
  async look(code: string, inClass: ClassId | null): Promise<void> {
    this.set({ stage: "asking" }, null);
    const answer = await post<Look>("/api/look", { code });
    if (!answer.ok) {
      this.code = code;
      this.set({ stage: "code" }, codeProblem(answer, code));
      return;
    }
    if (answer.value.class === inClass) this.joined();
    else this.set({ stage: "who", code, look: answer.value }, null);
  }

  /** Comes in by a personal link. */
  async byLink(token: string): Promise<void> {
    this.set({ stage: "asking" }, null);
    this.came(
      await post<Joined>("/api/join/personal", { token }),
      "This personal link does not open a class any more. Ask the coach for a new one.",
    );
  }

  /** Comes in as the one who was picked, or by the name that was typed. */
  async comeIn(): Promise<void> {
    if (this.stage.stage !== "who" || this.busy) return;
    const problem = this.expected === null ? nameProblem(this.name) : null;
    if (problem !== null) {
      this.set(this.stage, problem);
      return;
    }
    const who = this.expected === null ? { name: this.name.trim() } : { expected: this.expected };
    this.busy = true;
    this.changed();
    const answer = await post<Joined>("/api/join", { code: this.stage.code, choice: this.choice, ...who });
    this.busy = false;
    this.came(answer, null);
  }

  private came(answer: Answer<Joined>, otherwise: string | null): void {
    if (answer.ok) {
      setMe({ class: answer.value.class, athlete: answer.value.athlete });
      this.joined();
      return;
    }
    const gone = answer.status === 404 || answer.status === 401 || answer.status === 403;
    const stage: Stage = this.stage.stage === "who" ? this.stage : { stage: "code" };
    this.set(stage, otherwise !== null && gone ? otherwise : answer.problem);
  }

  set(stage: Stage, problem: string | null): void {
    this.stage = stage;
    this.problem = problem;
    this.changed();
  }
}

function codeProblem(answer: Extract<Answer<unknown>, { ok: false }>, code: string): string {
  if (answer.status !== 404) return answer.problem;
  return `No class is open under the code “${code}”: it was mistyped, or the class has ended. Scan the code on the wall again, or ask the coach.`;
}
