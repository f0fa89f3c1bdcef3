/** Small choices that this browser remembers for one reader. Without storage they hold until the page is left. */

export function remembered(name: string): string | null {
  try {
    return localStorage.getItem(`everyroom.${name}`);
  } catch {
    return null;
  }
}

export function remember(name: string, value: string): void {
  try {
    localStorage.setItem(`everyroom.${name}`, value);
  } catch {
    // Nothing is lost but the memory of a choice.
  }
}
