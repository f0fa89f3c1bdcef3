import type { Profile } from '../judge/profile.ts';
import { profileFigures } from '../judge/profile-figures.ts';
import { profiles } from '../judge/profiles.ts';
import { styleFor } from './terminal/style.ts';
import { hang } from './terminal/wrap.ts';

/** `everyroom check --profiles`: what a song can be held against, each with its figures; as data with --json. */
export function listProfiles(json: boolean): void {
  const isTerminal = process.stdout.isTTY === true;
  const style = styleFor(isTerminal);
  const width = Math.min(100, Math.max(40, (isTerminal && process.stdout.columns) || 80));
  const indent = '  ';
  const text = (profile: Profile) =>
    [
      `${style.strong(profile.id)}  ${profile.name}`,
      ...hang(indent, profile.about, width),
      ...profileFigures(profile).flatMap(({ what, figure, source }) =>
        hang(indent.repeat(2), `${what}: ${figure} (${source})`, width).map(style.quiet),
      ),
    ].join('\n');
  process.stdout.write(
    json ? `${JSON.stringify({ profiles }, null, 2)}\n` : `${profiles.map(text).join('\n\n')}\n`,
  );
}
