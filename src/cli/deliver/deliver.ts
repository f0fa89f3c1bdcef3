import { readFile } from 'node:fs/promises';
import { basename, dirname, resolve } from 'node:path';
import { CodedError } from '../../audio/coded-error.ts';
import { fileError } from '../../audio/files/file-error.ts';
import { deliver, planOnly } from '../../bench/delivery/deliver.ts';
import { displayName } from '../../bench/display-name.ts';
import { Pool } from '../../bench/pool.ts';
import type { DeliveryResult } from '../../deliver/delivery-result.ts';
import {
  consistencySentences,
  headlineOf,
  lengthText,
  turnedDownSentences,
} from '../../deliver/paper/record-words.ts';
import { profileTerms } from '../../deliver/profiles/profile-terms.ts';
import {
  type DeliveryProfileId,
  deliveryProfileOf,
  deliveryProfiles,
} from '../../deliver/profiles/profiles.ts';
import { exampleRecord } from '../../deliver/record/example-record.ts';
import { type ReleaseRecord, readRecord } from '../../deliver/record/record.ts';
import { withUnit } from '../../judge/wording.ts';
import { type ExitCode, exitCodes } from '../exit-codes.ts';
import { untilInterrupted } from '../interrupt.ts';
import { openResultsIfPossible } from '../results.ts';
import { say, sayJson } from '../shootout/say.ts';
import { SurviveProgress } from '../survive-progress.ts';
import { canDraw } from '../terminal/can-draw.ts';

export interface DeliverCommand {
  /** null: nothing is written. */
  readonly folder: string | null;
  /** Empty: those of the record. */
  readonly profiles: readonly DeliveryProfileId[];
  readonly json: boolean;
}

export function printExample(): void {
  sayJson(exampleRecord);
}

export function listDeliveryProfiles(json: boolean): void {
  if (json) sayJson({ profiles: deliveryProfiles });
  else
    for (const profile of deliveryProfiles) {
      say(`${profile.id}: ${profile.name}. ${profile.about}`);
      for (const term of profileTerms(profile)) say(term, '  · ');
    }
}

/** Carries out `everyroom deliver`. */
export async function deliverRecord(
  path: string,
  { folder, profiles, json }: DeliverCommand,
): Promise<ExitCode> {
  const record = await recordFrom(path);
  const beside = dirname(resolve(path));
  const interrupt = untilInterrupted();
  const pool = new Pool();
  const results = await openResultsIfPossible();
  const progress = new SurviveProgress(canDraw(process.stderr));
  try {
    const options = {
      record,
      profiles: profiles.length > 0 ? profiles : undefined,
      locate: async (source: ReleaseRecord['songs'][number]['source']) => {
        if ('file' in source) return { path: resolve(beside, source.file), name: displayName(source.file) };
        throw new CodedError(
          'RECORD_INVALID',
          'The record names a version on the bench; the command line wants files. Deliver it from the page.',
        );
      },
      artworkPath: record.artwork && resolve(beside, record.artwork.file),
      signal: interrupt.signal,
      onProgress: (stage: string, fraction: number) => progress.move(stage, fraction),
    };
    const workshop = { pool, results };
    const result =
      folder === null ? await planOnly(options, workshop) : await deliver({ ...options, folder }, workshop);
    progress.end();
    if (json) sayJson(result);
    else tell(result, folder);
    return result.open.length === 0 ? exitCodes.nothingToMend : exitCodes.somethingToMend;
  } catch (error) {
    progress.end();
    if (!interrupt.signal.aborted) throw error;
    process.stderr.write('Stopped. Started again with the same folder, it goes on where it was.\n');
    return exitCodes.interrupted;
  } finally {
    interrupt.release();
    await pool.close();
    await results?.close();
  }
}

async function recordFrom(path: string): Promise<ReleaseRecord> {
  let text: string;
  try {
    text = await readFile(path, 'utf8');
  } catch (error) {
    throw fileError(error, path, 'read');
  }
  try {
    return readRecord(JSON.parse(text));
  } catch (error) {
    if (!(error instanceof SyntaxError)) throw error;
    throw new CodedError('RECORD_INVALID', `“${basename(path)}” is no JSON: ${error.message}.`);
  }
}

function tell(result: DeliveryResult, folder: string | null): void {
  const { files, texts, findings, open, exceptions } = result;
  say(headlineOf(result));
  const isOpen = new Set(open);
  for (const { id, weight, sentence } of findings) {
    const mark = weight === 'know' ? 'know' : isOpen.has(id) ? 'mend' : 'taken on';
    say(`${sentence}${weight === 'must' ? ` (${id})` : ''}`, `${mark}: `);
  }
  for (const { name, checks } of files)
    for (const { id, what, wanted, found, passed } of checks)
      if (!passed)
        say(
          `${name}: ${what}: wanted ${wanted}, found ${found}. (${id}@${name})`,
          isOpen.has(`${id}@${name}`) ? 'mend: ' : 'taken on: ',
        );
  for (const { check, by } of exceptions) say(`“${check}”, by ${by}.`, 'taken on: ');
  for (const sentence of [...turnedDownSentences(result), ...consistencySentences(result)]) say(sentence);
  for (const { name, profileId, frames, sampleRate, found } of files) {
    const level =
      found?.reading.integratedLufs == null ? '' : `, ${withUnit(found.reading.integratedLufs, 'LUFS')}`;
    const peak =
      found?.reading.truePeakDbtp == null ? '' : `, ${withUnit(found.reading.truePeakDbtp, 'dBTP')}`;
    say(
      `${name}  ${lengthText(frames / sampleRate)}${level}${peak}${found ? '' : ` (${deliveryProfileOf(profileId as DeliveryProfileId).name})`}`,
      '  ',
    );
  }
  for (const { name } of texts) say(name, '  ');
  if (result.state === 'done' && folder !== null)
    say(`All of it, the report and SHA256SUMS are in ${folder}.`);
}
