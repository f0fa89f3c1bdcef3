type Child = Node | string | null | false;
type Handlers = {
  readonly [K in keyof HTMLElementEventMap as `on${K}`]?: (event: HTMLElementEventMap[K]) => void;
};
/** Attributes by their names in HTML; one that is null or false is left out, true is there without a value. */
type Attributes = Readonly<
  Record<string, string | number | boolean | null | undefined | ((event: never) => void)>
>;

/** An element with attributes, listeners and children. Text goes in as text, never as markup. */
export function make<K extends keyof HTMLElementTagNameMap>(
  tag: K,
  attributes: Attributes & Handlers = {},
  ...children: readonly Child[]
): HTMLElementTagNameMap[K] {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (typeof value === 'function') element.addEventListener(name.slice(2), value as EventListener);
    else if (value === true) element.setAttribute(name, '');
    else if (value !== false && value !== null && value !== undefined)
      element.setAttribute(name, String(value));
  }
  element.append(...children.filter((child) => child !== null && child !== false));
  return element;
}
