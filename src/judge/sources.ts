import { listeningSources } from './listening-sources.ts';
import type { Source } from './source.ts';

/**
 * Where every figure that a person reads as a limit comes from, and how surely it is known. docs/sources.md has
 * a heading per id that says what rests on it; a test keeps the two in step.
 */
export const sources = {
  'bs-1770': {
    title: 'ITU-R BS.1770-5 (2023), loudness and true peak',
    mark: 'read in',
    where:
      'filter tables, the −3.01 LKFS anchor and the true-peak under-read formula as transcribed in the tests of the open library phonometry, gates and channel weights in the source of libebur128; the text of the Recommendation from memory',
  },
  'tech-3341': {
    title: 'EBU Tech 3341 (v4, 2023), momentary, short-term and integrated loudness',
    mark: 'read in',
    where:
      'test signals and tolerances as transcribed in the tests of the open library phonometry and of libebur128',
  },
  'tech-3342': {
    title: 'EBU Tech 3342, loudness range',
    mark: 'read in',
    where:
      'test signals as transcribed in the tests of phonometry and libebur128; the method itself from memory',
  },
  'ebu-r-128': {
    title: 'EBU R 128 (v5.0, 2023), −23.0 LUFS and at most −1 dBTP',
    mark: 'read in',
    where: 'an encyclopaedic summary and a broadcaster’s delivery page; the text itself was not at hand',
  },
  'aes-td-1008': {
    title: 'AES TD1008 (2021), loudness of streamed music',
    mark: 'read in',
    where:
      'a forum post by its technical editor and a published summary: −16 LUFS song by song, −14 LUFS for the loudest song of a record; −1 dBTP in a summary made before publication; the text itself was not at hand',
  },
  'aes-td-1004': {
    title: 'AES TD1004 (2015), loudness of streams and network files',
    mark: 'read in',
    where:
      'a trade paper’s summary: not above −16 and not below −20 LUFS; −1 dBTP from memory. EBU R 128 s2, which gives the same range for devices that need it, from memory',
  },
  'atsc-a-85': {
    title: 'ATSC A/85, loudness of television in North America: −24 LKFS ±2 dB, −2 dBTP',
    mark: 'from memory',
    where: 'of the three figures, −24 LKFS was also read in the documentation of a general media service',
  },
  'broadcast-format': {
    title: 'Files for broadcast are 48 kHz, 16 or 24 bit',
    mark: 'common practice',
    where: 'delivery sheets of stations say so; each has its own, so read the one you deliver to',
  },
  'bs-1534': {
    title: 'ITU-R BS.1534-3 (2015), rating with a hidden reference and anchors',
    mark: 'from memory',
    where:
      'as generally cited; the text was not at hand. Its anchors of 3.5 and 7 kHz were also read in the report of a public listening test',
  },
  'paired-comparisons': {
    title: 'Strengths from paired comparisons',
    mark: 'read in',
    where:
      'fit and errors of Agresti’s baseball table (Categorical Data Analysis, 2nd ed. 2002, Tables 10.10 and 10.11) in the tests of the open package BradleyTerry2, Kendall and Babington Smith’s dog in the examples of the open package eba; Bradley and Terry 1952, Davidson 1970, Davidson and Beaver 1977 from memory',
  },
  'abx-binomial': {
    title: 'ABX: how many right are more than guessing',
    mark: 'computed',
    where: 'exact binomial at one half, one-sided; that 5 % is the bound is common practice',
  },
  'iec-61260': {
    title: 'IEC 61260-1, third-octave bands',
    mark: 'from memory',
    where: 'nominal centre frequencies and base-ten band edges',
  },
  'iec-60908': {
    title: 'IEC 60908, compact disc digital audio: 44.1 kHz, 16 bit',
    mark: 'read in',
    where: 'the FLAC format description and several summaries; the standard itself was not at hand',
  },
  'vinyl-practice': {
    title: 'Files for cutting: open dynamics, peaks left free, 24 bit',
    mark: 'common practice',
    where:
      'limiting costs level on the disc instead of winning it; the 11 dB from loudness to peak is this project’s figure (heuristic). Ask the cutting room for its own sheet',
  },
  'mix-practice': {
    title: 'Mixes for finishing: nothing squeezed yet, 24 bit or float',
    mark: 'common practice',
    where:
      'what a limiter on the mix bus has taken cannot be given back; the 10 dB from loudness to peak is this project’s figure (heuristic)',
  },
  'full-scale': {
    title: 'Full scale: what a converter or a 16-bit player can hold',
    mark: 'computed',
    where: 'a reconstructed waveform above 0 dBTP is larger than any fixed-point sample can be',
  },
  'reading-error': {
    title: 'What counts as meeting a peak limit: 0.1 dB',
    mark: 'heuristic',
    where: 'two honest true-peak readings of one file differ by about this much',
  },
  'lossy-tiny': {
    title: 'Decoded peaks up to 0.2 dB above full scale are only worth a look',
    mark: 'heuristic',
    where: 'such peaks last a few samples and differ from encoder to encoder',
  },
  'lossy-ceiling': {
    title: 'Ceilings of −1 and −2 dBTP before lossy coding',
    mark: 'common practice',
    where:
      'rules of thumb for all songs and all coders; here the decoded peak of this song is measured instead, and the limit is full scale',
  },
  'lossy-estimate': {
    title: 'How far a few passages may mislead about a whole song',
    mark: 'heuristic',
    where: 'bounds set by this project on the masters of its demo record',
  },
  'lossy-damage': {
    title: 'What lossy coding does to band, stereo and onsets',
    mark: 'heuristic',
    where: 'bounds set by this project, from which on a change is worth a word',
  },
  'clipped-runs': {
    title: 'Runs of three or more equal samples at the top',
    mark: 'heuristic',
    where: 'chance hardly makes them; more than twenty are no accident',
  },
  'plr-heuristic': {
    title: 'Distance from loudness to peak of finished songs',
    mark: 'heuristic',
    where: 'dense modern productions are commonly left at 8 to 12 dB; below 7.5 dB hardly a hit stands out',
  },
  'tone-heuristic': {
    title: 'Balance of bass, middle and treble of finished songs',
    mark: 'heuristic',
    where: 'wide bounds set by this project, so that varied styles pass and a clear fault does not',
  },
  'loudness-distance': {
    title: 'A level change of more than 6 dB by a player is worth knowing',
    mark: 'heuristic',
    where: 'the distance is this project’s; the figure it is measured from is AES TD1008',
  },
  'quiet-file': {
    title: 'Peaks more than 18 dB under full scale',
    mark: 'heuristic',
    where: 'finished songs come far closer to full scale; mixes are commonly left 3 to 12 dB under it',
  },
  'bit-depth': {
    title: 'At least 16 bits a sample',
    mark: 'common practice',
    where: 'releases are made at 16 or 24 bits; each bit less raises the noise by 6 dB (computed)',
  },
  'uncoded-source': {
    title: 'Finish from uncoded files',
    mark: 'common practice',
    where: 'what a lossy encoder has taken away stays away and is taken away again by the next one',
  },
  'channel-count': {
    title: 'Music is released in two channels',
    mark: 'common practice',
    where: 'single-channel files are accepted almost everywhere, yet are often a bounce gone wrong',
  },
  'sound-present': {
    title: 'A finished song holds sound and its header tells the truth',
    mark: 'common practice',
    where: 'no figure is taken from anywhere',
  },
  'broken-sound': {
    title: 'Clicks, dropouts and dead silence where the music goes on',
    mark: 'heuristic',
    where:
      'what is meant and what is broken is only told apart by ear, so the sizes and lengths are this project’s; their misses and false alarms are counted on seeded sounds',
  },
  'dc-offset': {
    title: 'The waveform lies around zero: within −60 dBFS',
    mark: 'heuristic',
    where: 'converters and software keep far less; at −40 dBFS a start or a cut clicks audibly',
  },
  'steady-noise': {
    title: 'Hum and noise where the music pauses',
    mark: 'heuristic',
    where:
      'at usual listening levels noise below −60 dBFS is hardly heard and single lines below −80 dBFS not at all; 50 and 60 Hz are the nominal frequencies of the mains',
  },
  subsonic: {
    title: 'Below 20 Hz nothing is heard',
    mark: 'common practice',
    where:
      '20 Hz is the customary lower end of hearing; the shares, about 1.6 and 16 % of the power, are this project’s (heuristic)',
  },
  'cut-ends': {
    title: 'A song begins at zero and dies away',
    mark: 'heuristic',
    where: 'a step above −30 dBFS is heard as a click; 40 dB under full scale an end is still plainly heard',
  },
  'silent-ends': {
    title: 'Silence before and after a song',
    mark: 'heuristic',
    where: 'up to 3 s before and 10 s after are told from a forgotten region; most releases have far less',
  },
  'sample-content': {
    title: 'What the samples tell of the files before',
    mark: 'heuristic',
    where: 'a grid, a spectrum that ends as if cut, and repeated samples are traces, not proofs',
  },
  'mix-room': {
    title: 'A mix leaves 3 to 6 dB above its peaks',
    mark: 'common practice',
    where: 'no text asks for it; it keeps bounces and conversions from clipping',
  },
  'mix-limited': {
    title: 'How many peaks end at one level',
    mark: 'heuristic',
    where:
      'measured on the demo songs: at most 0.07 % of the loud moments in the mixes, 50 to 62 % in the over-limited masters',
  },
  'mono-fold': {
    title: 'What two channels lose when they are added',
    mark: 'computed',
    where:
      'equal channels lose nothing, channels with nothing in common 10 lg 2 = 3.01 dB, opposite ones everything; that 6 dB must be mended is this project’s (heuristic)',
  },
  'stereo-heuristic': {
    title: 'How far the two sides of a song may part',
    mark: 'heuristic',
    where:
      'bounds set by this project on its demo songs and on seeded faults: bands, correlation, balance and delay between the channels',
  },
  'sides-sound': {
    title: 'Both sides of a stereo file carry sound of their own',
    mark: 'common practice',
    where: 'a silent side, or the same on both, is often a bounce gone wrong',
  },
  'flat-tops': {
    title: 'Tops of the waveform that are pressed flat',
    mark: 'heuristic',
    where:
      'of the width of a smooth top 1 dB down a third lies within 0.1 dB of it, 73 % after 12 dB of drive into a tanh curve (computed); the bound of 65 % and ten such tops a minute are this project’s',
  },
  ...listeningSources,
  'disc-limits': {
    title: 'Compact disc: 99 tracks of at least 4 s, in frames of 588 samples',
    mark: 'from memory',
    where:
      'IEC 60908 for the frames, the 99 tracks and the 4 s; 74 min 33 s on every disc and 79 min 57 s on most are common practice',
  },
  'iso-3901': {
    title: 'ISO 3901:2019, International Standard Recording Code',
    mark: 'from memory',
    where: 'two letters, three letters or digits, two digits, five digits; no check digit',
  },
  'gs1-ean': {
    title: 'UPC-A and EAN-13 and their check digit, GS1 General Specifications',
    mark: 'from memory',
    where: 'weights 1 and 3 in turn, up to the next ten',
  },
  'tech-3285': {
    title: 'EBU Tech 3285 v2 (2011), the broadcast extension of WAV files',
    mark: 'from memory',
    where:
      'the layout of 602 bytes, its loudness fields in hundredths and 7FFFh for what is not known; read back with libsndfile and ffmpeg in the tests',
  },
  'artwork-practice': {
    title: 'Artwork: a square JPEG or PNG of 1400 to 6000 pixels, at most 10 MiB',
    mark: 'common practice',
    where: 'shops differ; read the sheet of the one you deliver to',
  },
  'record-heuristic': {
    title: 'When a song of a record stands apart',
    mark: 'heuristic',
    where:
      '2 LU, 2.5 dB of tone and low end, 4 dB of width from the middle of the record are set by this project; so are the cautions for a lacquer: side over mid of −10 dB below 120 Hz, and a band between 5 and 10 kHz less than 6 dB under the middle',
  },
  'tukey-fences': {
    title:
      'What lies far from a catalogue’s own middle: J. W. Tukey, Exploratory Data Analysis, 1977, section 2D',
    mark: 'from memory',
    where:
      'one and a half spreads beyond the quartiles; the least spread and number of songs are set by this project',
  },
  'special-addresses': {
    title: 'Addresses that are not of the open net: IANA special-purpose address registries, RFC 6890',
    mark: 'from memory',
    where: 'and RFC 4291 section 2.4 for 2000::/3',
  },
} as const satisfies Record<string, Source>;

export type SourceId = keyof typeof sources;
