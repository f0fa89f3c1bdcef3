import { createHash } from 'node:crypto';
import { join } from 'node:path';
import { CodedError } from '../../audio/coded-error.ts';
import { hashFile } from '../../audio/files/hash-file.ts';
import { type Brief, briefText } from '../../judge/brief-words.ts';
import type { Finding } from '../../judge/file-report.ts';
import { audioFilePath } from '../audio-store.ts';
import { checkFile } from '../check-file.ts';
import type { Home } from '../home.ts';
import type { Workshop } from '../run-task.ts';
import type { ShootoutRecord } from '../store/shootouts.ts';
import { copyInto, endingOf, plainName, writeText } from '../whole-folder.ts';

export interface PackFitness {
  readonly fit: boolean;
  readonly findings: readonly Pick<Finding, 'severity' | 'title' | 'detail' | 'advice'>[];
}

/** Whether the mix is fit to be sent to makers: what the rules for mixes say of it, worst first. It forbids nothing. */
export async function packFitness(
  home: Home,
  workshop: Workshop,
  { mix }: ShootoutRecord,
): Promise<PackFitness> {
  const { report } = await mixReport(home, workshop, mix);
  const said = report.findings.filter(({ severity, id }) => severity !== 'fine' || id.startsWith('mix-'));
  const order = ['mend', 'look', 'fine'];
  return {
    fit: !said.some(({ severity }) => severity === 'mend'),
    findings: said.sort((a, b) => order.indexOf(a.severity) - order.indexOf(b.severity)),
  };
}

/** Fills a folder with what goes out to makers: the mix as it is, byte for byte, brief.txt and SHA256SUMS. */
export async function fillPack(
  path: string,
  home: Home,
  workshop: Workshop,
  { mix, title }: ShootoutRecord,
  brief: Brief,
): Promise<void> {
  const { report } = await mixReport(home, workshop, mix);
  const { container, codec, bitDepth, sampleRate, seconds } = report.file;
  const fileName = `${plainName(title, 'mix')} (mix).${endingOf(container)}`;
  await copyInto(audioFilePath(home, mix.sha256), join(path, fileName));
  if ((await hashFile(join(path, fileName))) !== mix.sha256)
    throw new CodedError('STORAGE_FAILED', 'The sound of the mix has changed on the disk.');
  const text = briefText(brief, {
    title,
    fileName,
    sampleRate,
    bits: bitDepth === null ? codec : `${bitDepth} bits, ${codec}`,
    seconds,
    integratedLufs: report.loudness.integratedLufs,
    truePeakDbtp: report.peak.truePeakDbtp,
    sha256: mix.sha256,
  });
  await writeText(join(path, 'brief.txt'), text);
  const sums = [
    [mix.sha256, fileName],
    [createHash('sha256').update(text).digest('hex'), 'brief.txt'],
  ];
  await writeText(join(path, 'SHA256SUMS'), sums.map(([sum, name]) => `${sum}  ${name}\n`).join(''));
}

function mixReport(home: Home, workshop: Workshop, { sha256, name }: ShootoutRecord['mix']) {
  const path = audioFilePath(home, sha256);
  // Whatever it is called on the bench, it is asked for what a mix is asked for.
  return checkFile(path, { name, sha256, kind: 'mix', lossy: false }, workshop);
}
