/** Help that is read on the floor: which keys a clicker or pedal may send, and what stop does. */
import { html, type TemplateResult } from "lit-html";

export function help(): TemplateResult {
  return html`
    <h2>Help</h2>
    <h3>Clicker or pedal</h3>
    <p>Any presentation clicker or page-turner pedal works once it is paired with this device.</p>
    <table>
      <tr>
        <th>Key</th>
        <th>Calls</th>
      </tr>
      <tr>
        <td>Page Down, right arrow, space, Enter</td>
        <td>Start; next; resume while the clock is held</td>
      </tr>
      <tr>
        <td>Page Up, left arrow, B, full stop</td>
        <td>Hold</td>
      </tr>
    </table>
    <p>Keys call nothing while you type, and never end a stop.</p>
    <h3>Roll call by keyboard</h3>
    <p>
      Digits, + for extra reps, Enter for the next name; arrow down skips, arrow up goes back. C enters reps at the cap, N
      not made.
    </p>
    <h3>To settle</h3>
    <p>
      A count that looks odd is marked with the reason. Nothing is changed until you decide, and what you decide stands in
      the history of the tally.
    </p>
    <h3>Stop</h3>
    <p>
      STOP holds the clock and puts the stop notice on every screen. If the house does not answer within half a second
      this page says so: use your voice. It is sent again until it is answered. Only Resume takes the notice away.
    </p>
    <h3>Take back</h3>
    <p>For 10 s any call but stop can be taken back as if it had not been made. Taps made in between count.</p>
    <h3>Marks</h3>
    <p>"First class here" and "told me something today" are seen by coaches alone, never on the wall or on phones. So is who stands out.</p>
  `;
}
