/** Elements of the page by id: the template has them all. */
export function at(id: string): HTMLElement {
  const element = document.getElementById(id);
  if (!element) throw new Error(`The page has no “${id}”.`);
  return element;
}

export const button = (id: string): HTMLButtonElement => at(id) as HTMLButtonElement;
export const input = (id: string): HTMLInputElement => at(id) as HTMLInputElement;

/** Sets a text only when it changed, so that a reader of the screen isn't told it again. */
export function put(id: string, text: string): void {
  const element = at(id);
  if (element.textContent !== text) element.textContent = text;
}

export function show(id: string, shown: boolean): void {
  at(id).hidden = !shown;
}
