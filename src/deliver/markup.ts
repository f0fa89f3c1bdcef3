const characters: Record<string, string> = {
  '&': '&amp;',
  '<': '&lt;',
  '>': '&gt;',
  '"': '&quot;',
  "'": '&#39;',
};

/** Text that is markup already. Only `html` makes it, so whatever is not of this class is escaped. */
export class Markup {
  readonly text: string;

  constructor(text: string) {
    this.text = text;
  }
}

type Part = Markup | string | number | readonly Part[];

/** Text of any origin as character data or attribute value; control characters, which HTML does not allow, are marked. */
function escaped(text: string): string {
  return text.replace(/[&<>"']/g, (character) => characters[character]).replace(/[^\P{Cc}\t\n]/gu, '�');
}

function partText(part: Part): string {
  if (part instanceof Markup) return part.text;
  return typeof part === 'object' ? part.map(partText).join('') : escaped(String(part));
}

/** Tagged template for HTML and SVG: the literal parts are markup, every value in it is escaped. */
export function html(literals: TemplateStringsArray, ...parts: Part[]): Markup {
  return new Markup(literals.reduce((text, literal, i) => text + partText(parts[i - 1]) + literal));
}
