import { statfs } from 'node:fs/promises';
import { basename } from 'node:path';
import { CodedError } from '../../audio/coded-error.ts';
import type { DeliveryPlan } from '../../deliver/delivery-plan.ts';

/** Bytes left beside what is needed. */
const spareBytes = 64 * 2 ** 20;

/** Refuses before hours of work what cannot fit on the disk. Throws CodedError DISK_FULL. */
export async function refuseWithoutRoom(folder: string, plan: DeliveryPlan): Promise<void> {
  // Files and what they are made from lie there side by side for a while.
  const needed = plan.programmes.reduce(
    (sum, { plan: { frames }, profile: { bits } }) => sum + frames * 2 * ((bits ?? 32) / 8) * 1.6,
    spareBytes,
  );
  const { bavail, bsize } = await statfs(folder);
  if (bavail * bsize >= needed) return;
  const gib = (bytes: number) => `${(bytes / 2 ** 30).toFixed(1)} GiB`;
  throw new CodedError(
    'DISK_FULL',
    `“${basename(folder)}” lies on a disk with ${gib(bavail * bsize)} free; this delivery needs about ${gib(needed)}. Make room or name another folder.`,
  );
}
