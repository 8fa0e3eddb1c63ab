/** Whole pages that stand in place of the class: pairing, no class, people gathering, and the stop notice over all. */
import type { State } from "../shared/wire";
import { shortNames } from "./board-names";
import { element, fillList, fit, setText } from "./dom";
import { AgendaView } from "./plan-view";

/** The wall says a short number until the coach has let it in. */
export class PairingView {
  readonly root = element("section", "cover pairing");
  private readonly number = element("p", "pairing-number");
  private readonly house = element("p", "cover-house");

  constructor() {
    this.root.append(
      this.house,
      element("h1", "", "This wall waits for the coach"),
      this.number,
      element("p", "cover-text", "On the coach device, let in the wall with this number."),
    );
  }

  show(house: string, number: number): void {
    setText(this.house, house);
    setText(this.number, `${number}`);
  }
}

/** One sentence: no class, or no house to be found. */
export class MessageView {
  readonly root = element("section", "cover message");
  private readonly house = element("p", "cover-house");
  private readonly heading = element("h1");
  private readonly text = element("p", "cover-text");

  constructor() {
    this.root.append(this.house, this.heading, this.text);
  }

  show(house: string, heading: string, text: string): void {
    setText(this.house, house);
    setText(this.heading, heading);
    setText(this.text, text);
  }
}

/** The stop notice; its text is the house's. */
export class StopView {
  readonly root = element("section", "cover stop");
  private readonly text = element("p", "stop-text");

  constructor() {
    this.root.setAttribute("role", "alert");
    this.root.append(
      element("div", "stop-shape", element("span", "", "Stop")),
      element("h1", "", "Put the gear down and look to the coach."),
      this.text,
    );
  }

  show(emergency: string): void {
    setText(this.text, emergency);
    this.text.classList.add("lines");
    if (fit(this.text, [6.4, 5.8, 5.2, 4.6]) !== null) return;
    this.text.classList.remove("lines");
    fit(this.text, [5.2, 4.4, 3.6, 3]);
  }
}

/** More people than this are named shortly, so that all fit. */
const WHOLE_NAMES_MAX = 24;

/** While people gather: how to come in, who is in, and what there is today. */
export class GatheringView {
  readonly root = element("section", "gathering");
  private readonly house = element("p", "cover-house");
  private readonly title = element("h1", "gathering-title");
  private readonly agenda = new AgendaView();
  private readonly join = element("div", "join");
  private readonly picture = element("img", "join-picture");
  private readonly code = element("p", "join-code");
  private readonly address = element("p", "join-address");
  private readonly count = element("h2", "here-count");
  private readonly names = element("ul", "here-names");

  constructor() {
    this.picture.alt = "";
    this.join.append(
      this.picture,
      element("div", "join-words", element("p", "join-how", "Scan to come in"), this.code, this.address),
    );
    this.root.append(
      element("div", "gathering-left", this.house, this.title, this.agenda.root),
      element("div", "gathering-right", this.join, this.count, this.names),
    );
  }

  show(house: string, state: State): void {
    const { join, rows, session } = state;
    setText(this.house, house);
    setText(this.title, session.title);
    fit(this.title, [8, 7, 6, 5]);
    this.agenda.show(state, null);
    this.join.hidden = join === null;
    if (join !== null) {
      // The picture is that of the open class; its code tells the browser when there is another.
      const source = `/api/qr.svg?code=${encodeURIComponent(join.code)}`;
      if (this.picture.getAttribute("src") !== source) this.picture.src = source;
      setText(this.code, join.code);
      fit(this.code, [8, 7, 6, 5, 4]);
      setText(this.address, join.address.replace(/^https?:\/\//, "").replace(/#.*$/, ""));
    }
    setText(this.count, rows.length === 0 ? "Nobody is in yet" : `${rows.length} in`);
    const named = rows.filter(({ name }) => name !== "");
    const names =
      named.length > WHOLE_NAMES_MAX ? [...shortNames(named).values()] : named.map(({ name }) => name);
    fillList(this.names, names, () => element("li"), setText);
    fit(this.names, [3.6, 3.3, 3, 2.8, 2.6, 2.4, 2.2, 2, 1.8]);
  }
}
