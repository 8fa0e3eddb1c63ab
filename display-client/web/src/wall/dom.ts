/** The few steps in which the wall builds its page. Text is only ever set as text, so a name is never HTML. */

export function element<Tag extends keyof HTMLElementTagNameMap>(
  tag: Tag,
  className = "",
  ...children: (Node | string)[]
): HTMLElementTagNameMap[Tag] {
  const made = document.createElement(tag);
  if (className !== "") made.className = className;
  made.append(...children);
  return made;
}

/** Sets text only where it differs: what does not change is not laid out. */
export function setText(node: HTMLElement, text: string): void {
  if (node.textContent !== text) node.textContent = text;
}

/** Makes `list` hold one child for each item: `make` builds one, `fill` puts an item into it. */
export function fillList<Item>(
  list: HTMLElement,
  items: readonly Item[],
  make: () => HTMLElement,
  fill: (child: HTMLElement, item: Item) => void,
): void {
  while (list.children.length > items.length) list.lastElementChild?.remove();
  while (list.children.length < items.length) list.append(make());
  items.forEach((item, index) => {
    fill(list.children[index] as HTMLElement, item);
  });
}

/** Gives `box` the largest of the sizes (root em) at which its content fits, and returns it; the smallest and null if none does. */
export function fit(box: HTMLElement, sizes: readonly number[]): number | null {
  const fits = sizes.find((size) => {
    box.style.fontSize = `${size}rem`;
    return box.scrollHeight <= box.clientHeight && box.scrollWidth <= box.clientWidth;
  });
  return fits ?? null;
}

let arrangements = 0;

/** Says that boxes may have another size: what was fitted to them is fitted anew when it is next shown. */
export function rearranged(): void {
  arrangements += 1;
}

/**
 * Which arrangement of boxes this is. What has been fitted in it stays as it is: to ask the boxes themselves would
 * make the browser lay the page out in the middle of every change.
 */
export const arrangement = (): number => arrangements;

/** Sets the text of one line, as large as it fits; measured only when the text or the arrangement have changed. */
export function fitText(node: HTMLElement, text: string, sizes: readonly number[]): void {
  const key = `${arrangements} ${text}`;
  if (node.dataset.fitted === key) return;
  setText(node, text);
  fit(node, sizes);
  node.dataset.fitted = key;
}
