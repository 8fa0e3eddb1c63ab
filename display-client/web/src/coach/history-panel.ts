/** The history of one tally, newest first: who changed it when, why, and from what to what (rule 3.5). */
import { html, nothing, type TemplateResult } from "lit-html";
import { get } from "../shared/api";
import { minutes, SECOND } from "../shared/clock";
import type { AthleteId, HouseTime, Scoring, SegmentIndex, Span, Tally } from "../shared/wire";
import type { Over, Shown } from "./live";
import { scoringOf } from "./scoring";
import { segmentName, tallyText, wallClock } from "./words";

/** One change, as the house keeps it. */
export interface Change {
  at: HouseTime;
  /** Class time of a tap that counts. */
  class_time: Span | null;
  /** A name, or `Coach`, `Tally tablet`, `Clock`. */
  who: string;
  /** A sentence. */
  why: string;
  from: Tally | null;
  to: Tally | null;
}

type HistoryOver = Extract<Over, { over: "history" }>;

/** Fetches the history of a tally and lays it over the tab; closing it leads back to where it was opened. */
export async function openHistory(
  { live, state }: Shown,
  athlete: AthleteId,
  segment: SegmentIndex,
  name: string,
): Promise<void> {
  const opened: HistoryOver = {
    over: "history",
    segment,
    name,
    changes: null,
    problem: "",
    before: live.over,
  };
  live.lay(opened);
  const answer = await get<{ changes: Change[] }>(
    `/api/classes/${state.class}/history?athlete=${athlete}&segment=${segment}`,
  );
  if (live.over !== opened) return;
  live.lay(answer.ok ? { ...opened, changes: answer.value.changes } : { ...opened, problem: answer.problem });
}

export function historyPanel({ live, state, view, at }: Shown, over: HistoryOver): TemplateResult {
  const segment = state.segments[over.segment];
  const scoring = scoringOf(view.people, over.segment);
  return html`
    <h2>${over.name}: history</h2>
    <p class="quiet">${segment === undefined ? "" : segmentName(segment, state.session)}</p>
    ${over.problem === "" ? nothing : html`<p class="problem" role="alert">${over.problem}</p>`}
    ${over.changes === null && over.problem === "" ? html`<p class="quiet" role="status">One moment …</p>` : nothing}
    ${over.changes?.length === 0 ? html`<p class="empty">Nothing was counted or set yet.</p>` : nothing}
    <ol class="changes">
      ${over.changes?.toReversed().map((change) => changeItem(change, scoring, at))}
    </ol>
    ${over.before === null ? nothing : html`<button class="wide" @click=${() => live.lay(over.before)}>Back</button>`}
  `;
}

function changeItem(change: Change, scoring: Scoring | null, at: HouseTime): TemplateResult {
  const { class_time: classTime, who, why, from, to } = change;
  const moves = JSON.stringify(from) !== JSON.stringify(to);
  return html`
    <li>
      <span>${classTime === null ? "" : minutes(Math.floor(classTime / SECOND))}
        <span class="quiet small">${wallClock(change.at - at, true)}</span>
      </span>
      <span><b>${who}</b> ${why}</span>
      <span class="moved">${moves ? html`${tallyText(from, scoring)} → <b>${tallyText(to, scoring)}</b>` : nothing}</span>
    </li>
  `;
}
