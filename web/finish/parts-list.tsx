import { useRef, useState } from 'react';
import { bypassPart, type Chain, kindOf, movePart, removePart } from '../../src/finish/chain.ts';
import { type PartKindId, partKinds } from '../../src/finish/kinds.ts';
import { takeOver } from '../../src/finish/take-over.ts';
import { partWords } from '../../src/judge/part-words.ts';
import { sentenceCase } from '../../src/judge/wording.ts';

/** A kind's name without its article, to begin a line: 'Equaliser'. */
export const kindTitle = (kind: PartKindId): string => sentenceCase(kindOf(kind).name.replace(/^the /, ''));

/** The chain as an ordered list: what each part does, and all that can be done with it as a whole. */
export function PartsList({
  chain,
  chosenId,
  onChoose,
  onChange,
}: {
  chain: Chain;
  chosenId: string | null;
  onChoose: (id: string) => void;
  onChange: (chain: Chain) => void;
}) {
  const [dragged, setDragged] = useState<string | null>(null);
  const [over, setOver] = useState<number | null>(null);
  const [said, setSaid] = useState('');
  const list = useRef<HTMLOListElement>(null);
  const { parts } = chain;

  const move = (id: string, to: number) => {
    if (to < 0 || to >= parts.length) return;
    onChange(movePart(chain, id, to));
    const part = parts.find((each) => each.id === id);
    if (part) setSaid(`${kindTitle(part.kind)} is now number ${to + 1} of ${parts.length}.`);
  };
  const add = (kind: PartKindId) => {
    const next = takeOver(chain, { bands: [], parts: [{ kind, settings: {} }] });
    onChange(next);
    const made = next.parts.find(({ id }) => !parts.some((part) => part.id === id));
    if (made) onChoose(made.id);
  };
  const remove = (id: string, at: number) => {
    onChange(removePart(chain, id));
    const next = parts[at + 1] ?? parts[at - 1];
    if (next) onChoose(next.id);
    // The list keeps the focus when what had it is gone.
    list.current?.querySelectorAll<HTMLElement>('.part-name')[Math.max(0, at - 1)]?.focus();
  };
  return (
    <section className="chain-parts" aria-label="The chain">
      {parts.length === 0 ? (
        <p className="sentence">Nothing yet: what goes in comes out.</p>
      ) : (
        <ol ref={list} className="part-list">
          {parts.map((part, i) => (
            <li
              key={part.id}
              className={[
                'chain-part',
                part.id === chosenId && 'chosen',
                part.bypassed && 'bypassed',
                over === i && dragged !== null && 'over',
              ]
                .filter(Boolean)
                .join(' ')}
              draggable
              onDragStart={(event) => {
                event.dataTransfer.effectAllowed = 'move';
                event.dataTransfer.setData('text/plain', kindTitle(part.kind));
                setDragged(part.id);
              }}
              onDragOver={(event) => {
                if (dragged === null) return;
                event.preventDefault();
                setOver(i);
              }}
              onDrop={(event) => {
                event.preventDefault();
                if (dragged !== null) move(dragged, i);
              }}
              onDragEnd={() => {
                setDragged(null);
                setOver(null);
              }}
            >
              <button
                type="button"
                className="part-name"
                aria-pressed={part.id === chosenId}
                aria-keyshortcuts="Alt+ArrowUp Alt+ArrowDown Delete"
                onClick={() => onChoose(part.id)}
                onKeyDown={(event) => {
                  if (event.altKey && event.key === 'ArrowUp') move(part.id, i - 1);
                  else if (event.altKey && event.key === 'ArrowDown') move(part.id, i + 1);
                  else if (event.key === 'Delete') remove(part.id, i);
                  else return;
                  event.preventDefault();
                  event.stopPropagation();
                }}
              >
                <span className="part-number num">{i + 1}</span>
                <span className="part-title">
                  <b>{kindTitle(part.kind)}</b>
                  {part.bypassed && <em> bypassed</em>}
                  <span className="part-words">{partWords(part)}</span>
                </span>
              </button>
              <span className="part-tools">
                <button
                  type="button"
                  className="plain"
                  aria-label={`${part.bypassed ? 'Put back in' : 'Bypass'} ${kindTitle(part.kind)}, number ${i + 1}`}
                  onClick={() => onChange(bypassPart(chain, part.id, !part.bypassed))}
                >
                  {part.bypassed ? 'Put back in' : 'Bypass'}
                </button>
                <button
                  type="button"
                  className="plain"
                  aria-label={`Move ${kindTitle(part.kind)}, number ${i + 1}, up`}
                  disabled={i === 0}
                  onClick={() => move(part.id, i - 1)}
                >
                  ↑
                </button>
                <button
                  type="button"
                  className="plain"
                  aria-label={`Move ${kindTitle(part.kind)}, number ${i + 1}, down`}
                  disabled={i === parts.length - 1}
                  onClick={() => move(part.id, i + 1)}
                >
                  ↓
                </button>
                <button
                  type="button"
                  className="plain"
                  aria-label={`Remove ${kindTitle(part.kind)}, number ${i + 1}`}
                  onClick={() => remove(part.id, i)}
                >
                  Remove
                </button>
              </span>
            </li>
          ))}
        </ol>
      )}
      <p className="hidden" role="status">
        {said}
      </p>
      <label className="find add-part">
        Add
        <select
          value=""
          aria-label="Add a part"
          onChange={(event) => event.target.value !== '' && add(event.target.value as PartKindId)}
        >
          <option value="">a part…</option>
          {partKinds.map(({ id }) => (
            <option key={id} value={id}>
              {kindTitle(id)}
            </option>
          ))}
        </select>
      </label>
    </section>
  );
}
