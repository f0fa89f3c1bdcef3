export function findBrowser(): string | null;
export const browserFlags: string[];
export const browserAdvice: string;
