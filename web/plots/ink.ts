/** The colours of a drawing, read from the style sheet so that both themes and every plot agree. */
export interface Ink {
  readonly ink: string;
  readonly soft: string;
  readonly wash: string;
  readonly rule: string;
  readonly accent: string;
  readonly paper: string;
  readonly font: string;
}

export function inkOf(element: Element): Ink {
  const style = getComputedStyle(element);
  const colour = (name: string) => style.getPropertyValue(name).trim();
  return {
    ink: colour('--ink'),
    soft: colour('--ink-soft'),
    wash: colour('--wash'),
    rule: colour('--rule'),
    accent: colour('--accent'),
    paper: colour('--paper'),
    font: `12px ${colour('--sans')}`,
  };
}
