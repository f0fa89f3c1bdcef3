import type { Facts } from './facts.ts';
import { type FileReport, fileReportSchema } from './file-report.ts';
import { judge } from './judge.ts';
import { type ProfileId, profileOf, usualProfileId } from './profiles.ts';

/**
 * The verdict on one file as everybody gets it, held against a profile (the usual one for its kind when left out).
 * Nothing is measured: a file is judged anew for another profile from the facts that were kept.
 */
export function reportOf(facts: Facts, profileId: ProfileId = usualProfileId(facts.kind)): FileReport {
  const profile = profileOf(profileId);
  const { file, kind, measurement, lossy, lossyFailed } = facts;
  // The schema refuses NaN and infinity, and drops what the report does not promise (the traces among it).
  return fileReportSchema.parse({
    ...measurement,
    file,
    kind,
    profile: { id: profileId, name: profile.name },
    lossy,
    lossyFailed,
    ...judge(facts, profile),
  });
}
