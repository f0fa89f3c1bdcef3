import type { Survival } from '../../src/server/api.ts';
import { isActive } from '../parts/job-line.tsx';
import { SeverityMark } from '../parts/severity.tsx';
import { count, figure, inUnit } from '../words/figures.ts';

type Report = NonNullable<Survival['report']>;

/** The answer in one sentence, and how sure it is. */
export function Answer({ survival, name }: { survival: Survival; name: string }) {
  const { job, report, complete } = survival;
  if (!report)
    return (
      <>
        <h1 className="headline">{waitingWords(survival, name)}</h1>
        {job?.state === 'failed' && job.error && (
          <p className="note">
            <code>{job.error.code}</code> The file is still here and nothing else was touched.
          </p>
        )}
      </>
    );
  const [first, ...more] = answers(survival, report);
  const again = complete && isActive(job);
  const sure = complete && !again && report.ceiling?.verified !== false;
  return (
    <>
      <h1 className="headline">{first}</h1>
      <p className={sure ? 'standing' : 'standing standing-estimate'} role="status">
        {/* Open ring and tick: told apart without colour. */}
        <SeverityMark severity={sure ? 'fine' : 'look'} /> <strong>{standing(survival)}</strong>{' '}
        <span>
          {again && 'Until the new run has its first estimate, this is what the one before found. '}
          {complete ? codedWords(report) : estimatedWords(report)}
        </span>
      </p>
      {more.length > 0 && (
        <ul className="answers">
          {more.map((answer) => (
            <li key={answer} className="sentence">
              {answer}
            </li>
          ))}
        </ul>
      )}
      {complete && (job?.state === 'failed' || job?.state === 'cancelled') && (
        <p className="sentence">
          {job.state === 'failed'
            ? `A later run failed: ${job.error?.message ?? 'no reason is known.'}`
            : 'A later run was cancelled.'}{' '}
          This is what the one before it found.
        </p>
      )}
      {!complete && !isActive(job) && (
        <p className="sentence">
          {job?.state === 'failed' ? job.error?.message : 'The run was cancelled.'} What it had finished is
          kept: {count(report.formats.length, 'format')}.
        </p>
      )}
    </>
  );
}

/** The sentences of the answer, the one that counts first. */
function answers({ complete }: Survival, { estimate, ceiling, headline }: Report): string[] {
  if (!complete && estimate) return [estimate.sentence];
  const [deciding, ...others] = ceiling?.answers ?? [];
  if (!deciding) return [headline];
  // The heading is one sentence; what follows it in the same answer stays together.
  const [first = deciding, ...reasons] = deciding.split(/(?<=\.) /);
  return [first, reasons.join(' '), ...others, headline].filter(Boolean);
}

function waitingWords({ job }: Survival, name: string): string {
  if (isActive(job)) return `Coding the passages of ${name} that are likeliest to overshoot.`;
  if (job?.state === 'failed') return job.error?.message ?? 'The run failed.';
  if (job?.state === 'cancelled') return 'The run was cancelled before anything was known.';
  return `What will lossy coding do to ${name}?`;
}

function standing({ complete, job, report }: Survival): string {
  if (complete && isActive(job)) return 'From an earlier run; a new one is at work.';
  if (!complete) return report?.estimate ? 'First estimate.' : 'Not finished.';
  if (report?.ceiling && !report.ceiling.verified)
    return 'The full run found no ceiling that it could confirm.';
  return 'Confirmed by the full run.';
}

function estimatedWords({ estimate, limitDbtp }: Report): string {
  if (!estimate) return 'The song is so short that it is coded as a whole at once.';
  return `From the passages likeliest to overshoot. The trim needed for ${inUnit(limitDbtp, 'dBTP')} dBTP is expected between ${figure(estimate.lowTrimDb)} and ${figure(estimate.highTrimDb)} dB; the full run confirms or corrects that.`;
}

function codedWords({ ceiling, formats, estimate }: Report): string {
  const coded = `The whole song was coded in ${count(formats.length, 'format')}`;
  const first = estimate
    ? ` The first estimate was a trim of ${figure(estimate.lowTrimDb)} to ${figure(estimate.highTrimDb)} dB.`
    : '';
  if (!ceiling) return `${coded}.${first}`;
  const encodes = `${coded}, with ${count(ceiling.encodes, 'encode')} in all`;
  return ceiling.verified
    ? `${encodes}; a last encode of each at exactly this trim stayed at or under ${inUnit(ceiling.limitDbfs, 'dBTP')} dBTP.${first}`
    : `${encodes}. The last encode at this trim did not stay under the limit in every format: leave more room.${first}`;
}
