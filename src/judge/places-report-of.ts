import type { Place } from '../places/place.ts';
import { placeAgainst } from '../places/place-against.ts';
import { bandCentresHz, noisePowers } from '../places/place-curve.ts';
import type { PlaceEffect } from '../places/place-effect.ts';
import type { PlaceLevel, PlacesReport, SongInPlace } from './places-report.ts';
import { placeStory } from './places-words.ts';
import { count, inSentence } from './wording.ts';

/** A song in one place, as it was worked out. */
export interface HeardInPlace {
  readonly effect: PlaceEffect | null;
  readonly studioLevelsDb: readonly number[] | null;
  readonly lead: {
    readonly overNoise: number;
    readonly overAll: number;
    readonly activeShare: number;
  } | null;
}

/** A file in all the places, in their order. */
export interface FileInPlaces {
  readonly file: PlacesReport['file'];
  readonly heard: readonly HeardInPlace[];
}

export interface PlacesFound {
  readonly song: FileInPlaces;
  readonly references: readonly FileInPlaces[];
  readonly leftOut: PlacesReport['against']['leftOut'];
  readonly setName: string | null;
  readonly level: PlaceLevel;
  readonly leadFrom: PlacesReport['leadFrom'];
  readonly places: readonly Place[];
}

const leadNotes: Record<PlacesReport['leadFrom'], string> = {
  stem: 'The lead is that of the file you named.',
  instrumental: 'The lead is what your instrumental lacks.',
  guess:
    'The lead is guessed from what both sides share; bass and drums stand there too, so this flatters dense songs. A file of the lead alone, or one without it, tells it better.',
};

/** What is to be said of a song in places: sentences and figures, worst place first. */
export function placesReportOf(found: PlacesFound): PlacesReport {
  const sounding = found.references.filter(({ heard }) => heard.some(({ effect }) => effect !== null));
  const silent = found.references.filter((reference) => !sounding.includes(reference));
  const places = found.places
    .map((place, i) =>
      inPlace(
        place,
        found.song.heard[i],
        sounding.map(({ heard }) => heard[i]),
      ),
    )
    .sort((a, b) => b.severity - a.severity);
  return {
    file: found.song.file,
    level: found.level,
    against: {
      setName: found.setName,
      references: sounding.map(({ file }) => file),
      leftOut: [
        ...found.leftOut,
        ...silent.map(({ file }) => ({ name: file.name, reason: 'It is silent.' })),
      ],
    },
    leadFrom: found.leadFrom,
    leadNote: leadNotes[found.leadFrom],
    headline: headlineOf(places, sounding.length),
    centresHz: [...bandCentresHz],
    places,
  };
}

function inPlace(place: Place, heard: HeardInPlace, references: readonly HeardInPlace[]): SongInPlace {
  const { effect, studioLevelsDb, lead } = heard;
  const levels = {
    studioLevelsDb: studioLevelsDb && [...studioLevelsDb],
    noiseLevelsDb: place.noise && Array.from(noisePowers(place.noise), (power) => 10 * Math.log10(power)),
  };
  if (!effect)
    return {
      place,
      effect: null,
      figures: [],
      headline: `${place.name}: the song is silent.`,
      sentences: [],
      severity: 0,
      lead: null,
      ...levels,
    };
  const figures = placeAgainst(
    effect,
    references.flatMap((reference) => reference.effect ?? []),
  );
  const { headline, sentences, severity } = placeStory(place.name, effect, figures);
  const leads = references.flatMap((reference) => reference.lead?.overAll ?? []);
  return {
    place,
    effect: plain(effect),
    figures: figures.map((one) => ({ ...one })),
    headline,
    sentences: sentences.map((one) => ({ ...one })),
    severity,
    lead: lead && {
      ...lead,
      references:
        leads.length > 0 ? { low: Math.min(...leads), high: Math.max(...leads), count: leads.length } : null,
    },
    ...levels,
  };
}

function plain(effect: PlaceEffect): SongInPlace['effect'] {
  return {
    ...effect,
    bands: effect.bands.map((band) => ({ ...band, timeline: [...band.timeline] })),
    levelsDb: [...effect.levelsDb],
  };
}

function headlineOf(places: readonly SongInPlace[], references: number): string {
  if (places.every(({ effect }) => effect === null))
    return 'The song is silent: there is nothing to hear anywhere.';
  const standingOut = places.filter(({ sentences }) => sentences.length > 0);
  const calm = references > 0 ? 'fares as your references do' : 'comes through';
  const all = count(places.length, 'place');
  if (standingOut.length === 0)
    return places.length === 1 ? `The song ${calm} there.` : `The song ${calm} in all ${all}.`;
  const [worst] = standingOut;
  const rest =
    places.length === 1
      ? ''
      : standingOut.length === places.length
        ? ` Something stands out in all ${all}.`
        : ` It ${calm} in ${count(places.length - standingOut.length, 'place')} of ${places.length}.`;
  const first = worst.sentences[0].text;
  return `Worst is the ${inSentence(worst.place.name)}: ${first.charAt(0).toLowerCase()}${first.slice(1)}${rest}`;
}
