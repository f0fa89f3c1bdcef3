import type { Bench } from '../bench/bench.ts';
import type { Delivery as KeptDelivery } from '../bench/delivery/record-room.ts';
import type { KeptRecord } from '../bench/store/records.ts';
import { trackCuts } from '../deliver/assembly/album-plan.ts';
import { consistencyFigures } from '../deliver/consistency.ts';
import type { DeliveryResult } from '../deliver/delivery-result.ts';
import { consistencySentences, headlineOf, turnedDownSentences } from '../deliver/paper/record-words.ts';
import { type DeliveryProfileId, deliveryProfileOf } from '../deliver/profiles/profiles.ts';
import type { Delivery, RecordDetail, RecordPlan, RecordSummary } from './records-api.ts';

export function recordSummaryOf({ id, record, changedAt }: KeptRecord): RecordSummary {
  const { title, artist, kind, songs } = record;
  return { id, title, artist, kind, songs: songs.length, changedAt };
}

/** A delivery's result as the page shows it. */
export function recordPlanOf(result: DeliveryResult): RecordPlan {
  const { state, plan, seconds, findings, open, exceptions, files, consistency } = result;
  const takenBy = new Map(exceptions.map(({ check, by }) => [check, by]));
  return {
    state,
    headline: headlineOf(result),
    seconds,
    open: open.length,
    findings: findings.map(({ id, weight, sentence }) => ({
      id,
      weight,
      sentence,
      takenBy: takenBy.get(id) ?? null,
    })),
    tracks: plan
      ? trackCuts(plan).map(({ from, to }) => ({
          startSeconds: from / plan.sampleRate,
          seconds: (to - from) / plan.sampleRate,
        }))
      : [],
    figures: consistencyFigures.map((figure) => ({
      ...figure,
      middle: consistency.middle[figure.id],
      values: consistency.songs.map(({ figures }) => figures[figure.id]),
    })),
    sentences: [...turnedDownSentences(result), ...consistencySentences(result)],
    files: files.map(({ name, profileId, frames, sampleRate, found, checks }) => ({
      name,
      profile: deliveryProfileOf(profileId as DeliveryProfileId).name,
      seconds: frames / sampleRate,
      bytes: found?.bytes ?? null,
      integratedLufs: found?.reading.integratedLufs ?? null,
      truePeakDbtp: found?.reading.truePeakDbtp ?? null,
      met: checks.filter(({ passed }) => passed).length,
      points: checks.length,
      failed: checks
        .filter(({ passed }) => !passed)
        .map(({ id, what, passed, wanted, found: was }) => ({
          id: `${id}@${name}`,
          what,
          passed,
          wanted,
          found: was,
        })),
    })),
  };
}

export function deliveryOf({ result, ...rest }: KeptDelivery): Delivery {
  return { ...rest, result: result && recordPlanOf(result) };
}

export async function recordDetailOf({ records, songs }: Bench, kept: KeptRecord): Promise<RecordDetail> {
  const versions = await records.versions(kept);
  const approvals = await records.approvals(kept);
  return {
    id: kept.id,
    record: kept.record,
    songs: await Promise.all(
      versions.map(async (version, i) => {
        const word = approvals[i];
        const approval =
          version && word && word.what !== 'wish'
            ? { by: word.by, at: word.at, what: word.what, current: word.sha256 === version.sha256 }
            : null;
        const others = version ? (await songs.get(version.songId)).versions : [];
        return {
          versionId: version?.id ?? null,
          versionName: version?.name ?? 'gone',
          songId: version?.songId ?? null,
          others: others.map(({ id, name }) => ({ versionId: id, name })),
          seconds: version?.verdict?.seconds ?? null,
          approval,
        };
      }),
    ),
    artwork: kept.artwork && { name: kept.artwork.name },
    deliveries: (await records.deliveries(kept.id)).map(deliveryOf),
    changedAt: kept.changedAt,
  };
}
