import {
  type SpeechIntelligibility,
  spectrumLevel,
  speechCentresHz,
  speechIntelligibility,
} from '../hearing/speech-intelligibility.ts';
import type { Place } from './place.ts';
import { bandCentresHz, bandGains, noisePowers } from './place-curve.ts';
import { layoutPower, layoutWeights } from './place-level.ts';
import { type SongBands, songBandCount } from './song-bands.ts';

export interface LeadIntelligibility {
  /** Against the noise of the place alone. */
  readonly overNoise: SpeechIntelligibility;
  /** Against the noise and everything else that plays. */
  readonly overAll: SpeechIntelligibility;
  /** Share of the time in which the lead sounds. */
  readonly activeShare: number;
}

/** The lead sounds when it is within this of its own loud moments, dB (heuristic). */
const soundsWithinDb = 20;
/** Third octaves of the song that the speech procedure takes: 160 Hz to 8 kHz. */
const firstSpeechBand = bandCentresHz.findIndex((hertz) => hertz > 150);

/**
 * How well the words of a lead get through in a place, by the speech intelligibility index (ANSI S3.5-1997) of its mean
 * spectrum while it sounds. The index was made for speech: of singing it tells places and mixes apart rather than how many
 * words are understood (heuristic use).
 *
 * @param lead bands of the lead alone, in time with `others`
 * @param others bands of everything else
 * @param powerGain volume of the place, of the whole song: `powerGainFor`
 * @returns null when the lead is silent
 */
export function leadIntelligibility(
  lead: SongBands,
  others: SongBands,
  place: Place,
  powerGain: number,
): LeadIntelligibility | null {
  const weights = layoutWeights(place.layout);
  const steps = Math.min(lead.steps, others.steps);
  const row = new Float64Array(songBandCount);
  const loudness = Float64Array.from({ length: steps }, (_, s) => {
    layoutPower(lead, s, weights, row);
    return row.subarray(firstSpeechBand).reduce((sum, power) => sum + power, 0);
  });
  const least =
    Float64Array.from(loudness).sort()[Math.floor(0.95 * (steps - 1))] * 10 ** (-0.1 * soundsWithinDb);
  if (!(least > 1e-14)) return null;
  const [own, rest] = [new Float64Array(songBandCount), new Float64Array(songBandCount)];
  let active = 0;
  for (let s = 0; s < steps; s++) {
    if (loudness[s] < least) continue;
    active++;
    layoutPower(lead, s, weights, row);
    for (let b = 0; b < songBandCount; b++) own[b] += row[b];
    layoutPower(others, s, weights, row);
    for (let b = 0; b < songBandCount; b++) rest[b] += row[b];
  }
  const gains = bandGains(place.response).map((gain) => (gain * powerGain) / active);
  const noise = place.noise ? noisePowers(place.noise) : new Float64Array(songBandCount);
  const spectrum = (powers: (band: number) => number) =>
    speechCentresHz('third-octave').map((hertz, i) =>
      spectrumLevel(10 * Math.log10(Math.max(1e-9, powers(firstSpeechBand + i))), hertz),
    );
  const speech = spectrum((b) => own[b] * gains[b]);
  return {
    overNoise: speechIntelligibility(
      speech,
      spectrum((b) => noise[b]),
    ),
    overAll: speechIntelligibility(
      speech,
      spectrum((b) => noise[b] + rest[b] * gains[b]),
    ),
    activeShare: active / steps,
  };
}

/**
 * A guess at lead and rest when only the song is there: what both sides share stands for the lead, what they do not for the
 * rest. Bass and drums stand in the middle too, so this flatters the lead of dense songs (heuristic).
 */
export function splitMiddle(song: SongBands): { readonly lead: SongBands; readonly others: SongBands } {
  const middle = song.common.map((power) => Math.max(0, power));
  const less = (side: Float32Array) => side.map((power, i) => Math.max(0, power - middle[i]));
  const { stepSeconds, steps } = song;
  return {
    lead: { stepSeconds, steps, left: middle, right: middle, common: middle },
    others: {
      stepSeconds,
      steps,
      left: less(song.left),
      right: less(song.right),
      common: song.common.map((power, i) => power - middle[i]),
    },
  };
}
