import { Link } from 'wouter';
import type { RecordDetail } from '../../src/server/records-api.ts';
import { Approval } from './approval.tsx';
import { ChoiceField, NumberField, TextField } from './fields.tsx';
import { moved } from './song-order.tsx';
import { joinWords } from './words.ts';

type Record = RecordDetail['record'];
type RecordSong = Record['songs'][number];

const shapes = { cosine: 'cosine', linear: 'linear', 'equal-power': 'equal power' } as const;

/** All that is said of one song of the record. */
export function SongSheet({
  detail,
  index,
  onChange,
  onRemove,
}: {
  detail: RecordDetail;
  index: number;
  onChange: (record: Record, chosen: number) => void;
  onRemove: (index: number) => void;
}) {
  const { record } = detail;
  const song = record.songs[index];
  const known = detail.songs[index];
  if (!song || !known) return null;
  const set = (patch: Partial<RecordSong>) =>
    onChange({ ...record, songs: record.songs.with(index, { ...song, ...patch }) }, index);
  const move = (to: number) => onChange(moved(record, index, to), to);
  const versions = Object.fromEntries(known.others.map(({ versionId, name }) => [versionId, name]));
  return (
    <section className="song-sheet" aria-label={`Song ${index + 1}: ${song.title}`}>
      <div className="act-line">
        <h3>
          {index + 1}. {song.title}
        </h3>
        <button type="button" className="plain" disabled={index === 0} onClick={() => move(index - 1)}>
          Earlier
        </button>
        <button
          type="button"
          className="plain"
          disabled={index === record.songs.length - 1}
          onClick={() => move(index + 1)}
        >
          Later
        </button>
        {known.songId && <Link href={`/songs/${known.songId}/desk`}>Hear it on the desk</Link>}
        <button
          type="button"
          className="plain"
          disabled={record.songs.length === 1}
          onClick={() => onRemove(index)}
        >
          Take it off the record
        </button>
      </div>
      <div className="field-grid">
        {known.versionId !== null && (
          <ChoiceField
            label="Version"
            value={known.versionId}
            choices={versions}
            onChange={(versionId) => set({ source: { versionId } })}
          />
        )}
        <TextField
          label="Title"
          value={song.title}
          onChange={(title) => title.trim() !== '' && set({ title })}
        />
        <TextField
          label="Beside the title"
          note="Acoustic, Radio edit"
          value={song.subtitle}
          onChange={(subtitle) => set({ subtitle })}
        />
        <TextField
          label="Artist"
          note={`${record.artist} when empty`}
          value={song.artist}
          onChange={(artist) => set({ artist })}
        />
        <TextField
          label="Written by"
          note="names, by commas"
          value={song.writers.join(', ')}
          onChange={(text) =>
            set({
              writers: text
                .split(',')
                .map((name) => name.trim())
                .filter((name) => name !== ''),
            })
          }
        />
        <TextField label="ISRC" value={song.isrc} onChange={(isrc) => set({ isrc })} />
        <TextField
          label="Language"
          note="a code: en, pt-BR, zxx for none"
          value={song.language}
          onChange={(language) => set({ language })}
        />
        <ChoiceField
          label="Words"
          value={song.explicit}
          choices={{ no: 'nothing to mark', yes: 'explicit', clean: 'clean version' }}
          onChange={(explicit) => set({ explicit })}
        />
      </div>
      <div className="field-grid">
        {index > 0 && (
          <ChoiceField
            label="How it follows"
            value={song.join}
            choices={joinWords}
            onChange={(join) => set({ join })}
          />
        )}
        {index > 0 && song.join === 'gap' && (
          <NumberField
            label="Gap before"
            unit="s"
            most={60}
            value={song.gapSeconds}
            onChange={(gapSeconds) => set({ gapSeconds })}
          />
        )}
        {index > 0 && song.join === 'crossfade' && (
          <NumberField
            label="Crossfade"
            unit="s"
            most={60}
            value={song.crossfadeSeconds}
            onChange={(crossfadeSeconds) => set({ crossfadeSeconds })}
          />
        )}
        <NumberField
          label="Level on the record"
          unit="dB"
          least={-24}
          most={24}
          value={song.gainDb}
          onChange={(gainDb) => set({ gainDb })}
        />
        <NumberField
          label="Off the beginning"
          unit="s"
          most={3600}
          step={0.01}
          value={song.cutHeadSeconds}
          onChange={(cutHeadSeconds) => set({ cutHeadSeconds })}
        />
        <NumberField
          label="Off the end"
          unit="s"
          most={3600}
          step={0.01}
          value={song.cutTailSeconds}
          onChange={(cutTailSeconds) => set({ cutTailSeconds })}
        />
        <NumberField
          label="Fade in"
          unit="s"
          most={60}
          value={song.fadeInSeconds}
          onChange={(fadeInSeconds) => set({ fadeInSeconds })}
        />
        <NumberField
          label="Fade out"
          unit="s"
          most={60}
          value={song.fadeOutSeconds}
          onChange={(fadeOutSeconds) => set({ fadeOutSeconds })}
        />
        {song.fadeOutSeconds > 0 && (
          <ChoiceField
            label="Shape of the fade-out"
            value={song.fadeOutShape}
            choices={shapes}
            onChange={(fadeOutShape) => set({ fadeOutShape })}
          />
        )}
        <TextField
          label="Vinyl side"
          note="a letter; by length when empty"
          value={song.side}
          onChange={(side) => set({ side: side.trim().toUpperCase() })}
        />
      </div>
      {index > 0 && (
        <JoinSound key={JSON.stringify([detail.changedAt, index])} detail={detail} index={index} />
      )}
      {known.versionId !== null && <Approval versionId={known.versionId} title={song.title} />}
    </section>
  );
}

/** How the song before and this one meet, to be heard; made when it is asked for. */
function JoinSound({ detail, index }: { detail: RecordDetail; index: number }) {
  const before = detail.record.songs[index - 1]?.title ?? '';
  return (
    <details className="group">
      <summary>
        <h3>Hear how it follows “{before}”</h3>
        <span className="note">ten seconds of each, as they meet</span>
      </summary>
      {/* biome-ignore lint/a11y/useMediaCaption: it is music */}
      <audio controls preload="none" src={`/api/records/${detail.id}/joins/${index - 1}`} />
      <p className="note">Begin with the volume well down. A chain hears only this excerpt here.</p>
    </details>
  );
}
