/** What stands in place of the grid: the number by which the coach lets this tablet in, or a sentence. */
import { html, nothing, type TemplateResult } from "lit-html";
import type { Tablet } from "../tablet";
import { waitingWords } from "../words";

/** Null where there is a class with people to count for. */
export function cover(tablet: Tablet, problem: string | null): TemplateResult | null {
  const { welcome, state, noClass } = tablet.follower;
  const house = welcome?.house ?? "";
  if (welcome?.role === "tablet" && !welcome.accepted) {
    return html`<div class="cover" data-screen="pairing">
      <p class="house">${house}</p>
      <h1>This tally tablet waits for the coach</h1>
      <p class="pairing-number">${welcome.number}</p>
      <p>On the coach device, let in the tally tablet with this number.</p>
    </div>`;
  }
  // Without house time nothing can be shown of a class.
  if (
    state === null ||
    noClass !== null ||
    tablet.follower.sync.estimate(performance.now() * 1000) === null
  ) {
    if (problem !== null) return sentence(house, "This tablet was not taken in", problem, tablet);
    if (noClass !== null) return sentence(house, "No class now", noClass, tablet);
    return sentence(
      house,
      "Looking for the house",
      "This tablet comes in by itself as soon as it is found.",
      tablet,
    );
  }
  if ((tablet.lines ?? []).length > 0) return null;
  const number = welcome?.role === "tablet" ? welcome.number : "";
  return sentence(
    house,
    `Tally tablet ${number}`,
    "Nobody is assigned to it yet. The coach chooses up to twelve people for it.",
    tablet,
  );
}

const sentence = (house: string, heading: string, text: string, tablet: Tablet): TemplateResult => {
  const waiting = tablet.waiting();
  return html`<div class="cover" data-screen="message">
    <p class="house">${house}</p>
    <h1>${heading}</h1>
    <p>${text}</p>
    ${waiting === 0 ? nothing : html`<p class="waits">${waitingWords(waiting)}. Keep this page open.</p>`}
  </div>`;
};
