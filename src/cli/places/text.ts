import type { PlacesReport, SongInPlace } from '../../judge/places-report.ts';
import { count, figure } from '../../judge/wording.ts';
import { wideBandNames } from '../../measure/wide-bands.ts';
import { printable } from '../terminal/printable.ts';
import { styleFor } from '../terminal/style.ts';
import { table } from '../terminal/table.ts';
import { hang, wrap } from '../terminal/wrap.ts';

/** All songs, as `everyroom places` prints them: the places at a glance, worst first, then what stands out in each. */
export function placesText(reports: readonly PlacesReport[]): string {
  const isTerminal = process.stdout.isTTY === true;
  const style = styleFor(isTerminal);
  const width = Math.min(100, Math.max(40, (isTerminal && process.stdout.columns) || 96));
  const lines = reports.flatMap((report, i) => {
    const { file, headline, places, against, leadNote } = report;
    const standingOut = places.filter(({ sentences }) => sentences.length > 0);
    return [
      ...(i > 0 ? [''] : []),
      style.strong(printable(file.name)),
      style.quiet(printable(aboutText(report))),
      '',
      ...wrap(printable(headline), width),
      '',
      ...glance(places, against.references.length > 0),
      ...standingOut.flatMap(({ place, sentences, effect }) => [
        '',
        style.strong(printable(`${place.name}, ${figure(effect?.levelDba ?? 0, 0)} dB(A)`)),
        ...sentences.flatMap(({ text }) => hang('◆ ', printable(text), width)),
      ]),
      '',
      ...wrap(leadNote, width).map(style.quiet),
    ];
  });
  return lines.length === 0 ? '' : `${lines.join('\n')}\n`;
}

function aboutText({ level, against: { setName, references } }: PlacesReport): string {
  const at =
    level === 'talk-over'
      ? 'at the level people talk over'
      : level === 'loud'
        ? 'loud'
        : `at ${figure(level, 0)} dB(A)`;
  if (references.length === 0) return `${at}; no references, so by this project’s own bounds`;
  return `${at}; against ${setName === null ? count(references.length, 'reference') : `“${setName}” (${count(references.length, 'reference')})`}`;
}

/** Share of its time that each band is heard, %, and below it what the references have. */
function glance(places: readonly SongInPlace[], compared: boolean): string[] {
  const columns = [
    { head: '', align: 'left' as const },
    { head: 'place', align: 'left' as const },
    ...['dB(A)', 'bass', 'low mid', 'mid', 'presence', 'air', 'lead'].map((head) => ({
      head,
      align: 'right' as const,
    })),
  ];
  const rows = places.map((one) => [
    one.sentences.length > 0 ? '◆' : '',
    printable(one.place.name),
    one.effect ? figure(one.effect.levelDba, 0) : '–',
    ...wideBandNames.map((name) => heardText(one, name)),
    one.lead ? figure(one.lead.overAll, 2) : '–',
  ]);
  return [
    ...table(columns, rows),
    '',
    `Heard, % of the time a band plays${compared ? ' (your references)' : ''}; lead: how well its words get through, 0 to 1 (SII).`,
  ];
}

function heardText({ effect, figures }: SongInPlace, name: (typeof wideBandNames)[number]): string {
  const share = effect?.bands.find(({ band }) => band === name)?.heardShare ?? null;
  if (share === null) return '–';
  const references = figures.find((one) => one.name === `heard-${name}`)?.references;
  const percent = (value: number) => figure(100 * value, 0);
  if (!references) return percent(share);
  const [low, high] = [percent(references.low), percent(references.high)];
  return `${percent(share)} (${low === high ? low : `${low}–${high}`})`;
}
