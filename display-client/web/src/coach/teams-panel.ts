/** Teams: made as people came, changed by two touches, taken apart; and who is without one. */
import { html, nothing, type TemplateResult } from "lit-html";
import type { AthleteId } from "../shared/wire";
import type { Over, Shown } from "./live";
import { moved, pairUp, teamPiece, teamsOf, without } from "./teams";
import { blockTitle, namesWords } from "./words";

type TeamsOver = Extract<Over, { over: "teams" }>;

/** The piece for teams that is under way or comes next. */
export function pieceForTeams({ state, showing }: Shown) {
  if (showing.phase === "done" || state.closed) return null;
  return teamPiece(state.segments, "index" in showing ? showing.index : 0, state.session);
}

/** Who is without a team before a piece for teams starts; loud once it is the next thing. */
export function teamsCard(shown: Shown): TemplateResult | typeof nothing {
  const piece = pieceForTeams(shown);
  const { showing, state, view, live } = shown;
  const alone = without(view.people);
  if (piece === null || alone.length === 0) return nothing;
  const next = "next" in showing && showing.next !== null ? state.segments[showing.next] : undefined;
  const soon = next?.block === piece.block || ("index" in showing && showing.segment.block === piece.block);
  const names = alone.length > 6 ? `${alone.length} people` : namesWords(alone.map(({ name }) => name));
  return html`
    <div class="card ask ${soon ? "warning" : ""}" role=${soon ? "alert" : nothing}>
      <p><b>Without a team</b> for ${blockTitle(piece.block, state.session)}: ${names}</p>
      <button class=${soon ? "yes" : ""} @click=${() => live.lay({ over: "teams", moving: null })}>Teams</button>
    </div>
  `;
}

export function teamsPanel(shown: Shown, over: TeamsOver): TemplateResult {
  const { live, view, state } = shown;
  const piece = pieceForTeams(shown);
  const size = piece?.size ?? 2;
  const teams = teamsOf(view.people);
  const alone = without(view.people);
  const name = (athlete: AthleteId) => view.people.find((person) => person.athlete === athlete)?.name ?? "";
  const send = (next: AthleteId[][]) => {
    live.lay({ over: "teams", moving: null });
    void live.ask({ ask: "team", teams: next }, "the teams");
  };
  const to = (where: number | "new" | null) => over.moving !== null && send(moved(teams, over.moving, where));
  const person = (athlete: AthleteId) => html`
    <button
      aria-pressed=${over.moving === athlete}
      @click=${() => live.lay({ over: "teams", moving: over.moving === athlete ? null : athlete })}
    >
      ${name(athlete)}
    </button>
  `;
  return html`
    <h2>Teams</h2>
    <p class="quiet">
      ${piece === null ? "No piece for teams is to come." : `${blockTitle(piece.block, state.session)}: ${size === 2 ? "in pairs" : `in teams of ${size}`}.`}
      ${over.moving === null ? "Touch a name, then where it goes." : html`<b>${name(over.moving)}</b>: to which team?`}
    </p>
    <section class="team alone" ?data-open=${alone.length > 0}>
      <h3>Without a team${alone.length === 0 ? ": nobody" : ""}</h3>
      <div class="members">${alone.map(({ athlete }) => person(athlete))}</div>
      ${over.moving === null || alone.some(({ athlete }) => athlete === over.moving) ? nothing : html`<button class="here" @click=${() => to(null)}>Out of the team</button>`}
      ${alone.length < size ? nothing : html`<button class="yes" @click=${() => send(pairUp(view.people, size))}>${size === 2 ? "Pair up as they came" : `Teams of ${size} as they came`}</button>`}
    </section>
    <ol class="teams">
      ${teams.map(
        (team, index) => html`
          <li class="team" ?data-odd=${team.length !== size}>
            <div class="team-head">
              <h3>Team ${index + 1}${team.length === size ? "" : html` <span class="tag warn">${team.length} of ${size}</span>`}</h3>
              ${
                over.moving === null || team.includes(over.moving)
                  ? html`<button class="apart" @click=${() => send(teams.filter((_, at) => at !== index))}>Take apart</button>`
                  : html`<button class="here" @click=${() => to(index)}>To this team</button>`
              }
            </div>
            <div class="members">${team.map(person)}</div>
          </li>
        `,
      )}
    </ol>
    <div class="two-up">
      <button ?disabled=${over.moving === null} @click=${() => to("new")}>A new team</button>
      <button ?disabled=${teams.length === 0} @click=${() => send([])}>Take all apart</button>
    </div>
    <p class="quiet small">A team has one tally; every member’s phone counts for it.</p>
  `;
}
