import { clockTime } from '../wording.ts';
import { cell, type FigureGroup } from './figure.ts';

export const sectionsGroup: FigureGroup = {
  id: 'sections',
  title: 'Sections',
  absent: ({ sections }) =>
    sections.sections.length === 0 ? 'No sections: too short or nothing to hear.' : null,
  figures: [],
  tables: [
    {
      title: 'The same letter: the same music again (heuristic)',
      columns: [
        { head: 'Section', align: 'left' },
        { head: 'From', align: 'right' },
        { head: 'To', align: 'right' },
        { head: 'Loudness', unit: 'LUFS', align: 'right' },
        { head: 'Note', align: 'left' },
      ],
      rows: ({ sections: { sections, loudest, quietest } }) =>
        sections.map((section, i) => [
          section.label,
          clockTime(section.startSeconds),
          clockTime(section.endSeconds),
          cell(section.loudnessLufs),
          i === loudest && sections.length > 1
            ? 'loudest'
            : i === quietest && sections.length > 1
              ? 'quietest'
              : '',
        ]),
    },
  ],
  sought: [],
};

/** The form in one line: 'A B A B C B'. */
export function formOf(sections: readonly { readonly label: string }[]): string {
  return sections.map(({ label }) => label).join(' ');
}
