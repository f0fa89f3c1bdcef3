import type { KnownPlace } from '../../bench/places/library.ts';
import { PlaceLibrary } from '../../bench/places/library.ts';
import { ReferenceDesk } from '../../bench/reference-desk.ts';
import { placeSources } from '../../judge/place-sources.ts';
import { figure, signed } from '../../judge/wording.ts';
import type { Curve, Place } from '../../places/place.ts';
import { type ExitCode, exitCodes } from '../exit-codes.ts';
import { printable } from '../terminal/printable.ts';
import { styleFor } from '../terminal/style.ts';
import { table } from '../terminal/table.ts';
import { hang } from '../terminal/wrap.ts';

async function withLibrary<T>(work: (library: PlaceLibrary) => Promise<T>): Promise<T> {
  const desk = await ReferenceDesk.open();
  try {
    return await work(new PlaceLibrary(desk.store));
  } finally {
    await desk.close();
  }
}

/** `everyroom places list` */
export function listPlaces(json: boolean): Promise<ExitCode> {
  return withLibrary(async (library) => {
    const all = await library.list();
    if (json) {
      process.stdout.write(`${JSON.stringify({ places: all.map(withSources) }, null, 2)}\n`);
      return exitCodes.nothingToMend;
    }
    const columns = (['id', 'place', 'talk-over', 'loud', 'noise', 'whose'] as const).map((head, i) => ({
      head,
      align: i >= 2 && i <= 4 ? ('right' as const) : ('left' as const),
    }));
    const rows = all.map(({ place, builtIn, from }) => [
      place.id,
      printable(place.name),
      figure(place.levels.talkOverDba, 0),
      figure(place.levels.loudDba, 0),
      place.noise ? figure(place.noise.levelDba, 0) : 'none',
      builtIn ? 'comes with Everyroom' : from ? `yours, after ${printable(from.name)}` : 'yours',
    ]);
    process.stdout.write(
      `${table(columns, rows).join('\n')}\n\nLevels and noise in dB(A) at the listener.\n`,
    );
    return exitCodes.nothingToMend;
  });
}

/** `everyroom places show` */
export function showPlace(name: string, json: boolean): Promise<ExitCode> {
  return withLibrary(async (library) => {
    const known = await library.find(name);
    if (json) process.stdout.write(`${JSON.stringify(withSources(known), null, 2)}\n`);
    else process.stdout.write(`${placeLines(known).join('\n')}\n`);
    return exitCodes.nothingToMend;
  });
}

function withSources(known: KnownPlace) {
  return { ...known, sources: placeSources(known.place) };
}

function placeLines({ place, builtIn, from }: KnownPlace): string[] {
  const style = styleFor(process.stdout.isTTY === true);
  const whose = builtIn
    ? 'comes with Everyroom and stays as it is; a copy can be changed'
    : from
      ? `yours, made from ${printable(from.name)}`
      : 'yours';
  return [
    style.strong(printable(place.name)),
    style.quiet(`${place.id}; ${whose}`),
    ...placeSources(place).flatMap(({ group, title, assumption, note }) => [
      '',
      style.strong(group),
      ...figuresIn(place, group).flatMap((text) => hang('  ', text, 96)),
      ...hang('  ', assumption ? `Assumption of this project: ${note}` : `Source: ${title}; ${note}`, 96).map(
        style.quiet,
      ),
    ]),
  ];
}

function figuresIn(place: Place, group: ReturnType<typeof placeSources>[number]['group']): string[] {
  const { layout, field, protection, maximumDb, wireless, noise, levels } = place;
  switch (group) {
    case 'response':
      return [curveText(place.response)];
    case 'layout':
      return [
        layout.kind === 'stereo'
          ? `two loudspeakers ${figure(layout.angleDegrees, 0)} degrees to either side`
          : layout.kind === 'narrow'
            ? `two loudspeakers so close that the difference of the sides is ${figure(-layout.sideDb)} dB weaker`
            : layout.kind,
        field === 'free' ? 'heard from ahead' : 'heard from all around',
      ];
    case 'limits':
      return [
        `at most ${figure(maximumDb, 0)} dB SPL`,
        protection
          ? `bass below ${figure(protection.belowHz, 0)} Hz is taken back from ${figure(protection.thresholdDb, 0)} dB SPL on`
          : 'no bass protection',
        ...(wireless ? ['the sound goes there through a lossy wireless coding'] : []),
      ];
    case 'noise':
      return noise
        ? [`${figure(noise.levelDba, 0)} dB(A)`, `third octaves: ${curveText(noise.shape)}`]
        : ['none'];
    case 'levels':
      return [`talk-over ${figure(levels.talkOverDba, 0)} dB(A), loud ${figure(levels.loudDba, 0)} dB(A)`];
  }
}

function curveText(curve: Curve): string {
  return curve
    .map(
      ({ hertz, db }) =>
        `${hertz < 1000 ? `${figure(hertz, 0)} Hz` : `${Number((hertz / 1000).toFixed(2))} kHz`} ${signed(db, 'dB', Number.isInteger(db) ? 0 : 1)}`,
    )
    .join(', ');
}
