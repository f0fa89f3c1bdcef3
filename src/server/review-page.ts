import { createHash } from 'node:crypto';
import type { ReviewSheet } from '../bench/delivery/reviews.ts';
import { html, Markup } from '../deliver/markup.ts';
import { clockTime } from '../judge/wording.ts';

const style = `
:root { color-scheme: light dark; --paper: #fdfcf8; --ink: #1f1d1a; --soft: #5f5b53; --rule: #d9d4c8; --accent: #0b5c8a; }
@media (prefers-color-scheme: dark) { :root { --paper: #14140f; --ink: #eceae2; --soft: #a8a498; --rule: #3b3931; --accent: #7dc0ea; } }
* { box-sizing: border-box; }
body { background: var(--paper); color: var(--ink); max-width: 38rem; margin: 0 auto; padding: 2rem 1.25rem 4rem; font: 1.0625rem/1.5 "Iowan Old Style", Palatino, Georgia, serif; }
h1 { font-size: 1.5rem; line-height: 1.25; margin: 0; overflow-wrap: anywhere; }
h2 { font: 600 .875rem/1.4 system-ui, sans-serif; color: var(--soft); border-bottom: 1px solid var(--rule); margin: 2rem 0 .5rem; }
.soft, small { color: var(--soft); font: .875rem/1.4 system-ui, sans-serif; }
audio { width: 100%; margin: 1.25rem 0 .25rem; }
textarea { width: 100%; min-height: 6rem; font: inherit; padding: .5rem; background: transparent; color: inherit; border: 1px solid var(--soft); border-radius: 3px; }
button { font: 600 .9375rem/1.2 system-ui, sans-serif; padding: .65rem 1rem; min-height: 2.75rem; border: 1px solid var(--accent); background: transparent; color: var(--accent); border-radius: 3px; margin: .4rem .4rem 0 0; }
button.main { background: var(--accent); color: var(--paper); }
:focus-visible { outline: 2px solid var(--accent); outline-offset: 2px; }
ul { list-style: none; padding: 0; } li { border-bottom: 1px solid var(--rule); padding: .5rem 0; overflow-wrap: anywhere; }
label { display: block; margin-top: 1rem; }
.num { font-variant-numeric: tabular-nums; }
`;

/** Runs on the page: its address is all that it knows. */
const script = `
const sound = document.querySelector('audio');
const here = location.pathname.replace(/\\/$/, '');
const told = document.querySelector('[role=status]');
const place = document.querySelector('#place');
const clock = (s) => Math.floor(s / 60) + ':' + String(Math.floor(s % 60)).padStart(2, '0');
sound.addEventListener('timeupdate', () => { place.textContent = clock(sound.currentTime); });
for (const button of document.querySelectorAll('button[data-what]')) button.addEventListener('click', async () => {
  const what = button.dataset.what;
  const text = document.querySelector('textarea').value.trim();
  if (what === 'wish' && text === '') { told.textContent = 'Write what you wish for first.'; document.querySelector('textarea').focus(); return; }
  const at = what === 'wish' && document.querySelector('#at').checked ? sound.currentTime : null;
  button.disabled = true;
  try {
    const answer = await fetch(here + '/words', { method: 'POST', headers: { 'content-type': 'application/json' }, body: JSON.stringify({ what, text: what === 'wish' ? text : '', atSeconds: at }) });
    if (!answer.ok) throw new Error((await answer.json()).error.message);
    location.reload();
  } catch (error) { told.textContent = 'Not sent: ' + error.message + ' Your words are still here.'; button.disabled = false; }
});
for (const button of document.querySelectorAll('button[data-at]')) button.addEventListener('click', () => { sound.currentTime = Number(button.dataset.at); sound.play(); });
`;

/** The only script that may run on the page. */
export const reviewScriptHashes = [`sha256-${createHash('sha256').update(script).digest('base64')}`];

/** The page for somebody who was sent a link: the song, what was written to them, approving, and wishes with their place. */
export function reviewPage({ songTitle, versionName, name, note, words, approved }: ReviewSheet): string {
  return html`<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="robots" content="noindex">
<title>${songTitle}</title>
<style>${new Markup(style)}</style>
</head>
<body>
<main>
<p class="soft">For ${name}</p>
<h1>${songTitle}</h1>
<p class="soft">${versionName}</p>
${note === '' ? '' : html`<p>${note}</p>`}
<audio controls preload="metadata" src="sound"></audio>
<p class="soft">Begin with the volume well down, then bring it up to where you like it.</p>
<p role="status" aria-live="polite"><strong>${approved ? 'You have approved this version.' : ''}</strong></p>
<h2>Your word on it</h2>
<label for="wish">What do you wish for?</label>
<textarea id="wish" maxlength="2000"></textarea>
<label class="soft"><input type="checkbox" id="at" checked> at <span id="place" class="num">0:00</span> of the song, where it stands now</label>
<button type="button" data-what="wish">Leave this wish</button>
${approved ? html`<button type="button" data-what="withdrawn">Take the approval back</button>` : html`<button type="button" class="main" data-what="approved">Approve this version</button>`}
${
  words.length === 0
    ? ''
    : html`<h2>Said so far</h2><ul>${words.map(
        ({
          what,
          by,
          text,
          atSeconds,
          at,
        }) => html`<li>${atSeconds === null ? '' : html`<button type="button" data-at="${atSeconds}">${clockTime(atSeconds)}</button>`} ${what === 'wish' ? text : what === 'approved' ? 'Approved.' : 'Approval taken back.'}<br><small>${by}, ${at.slice(0, 10)}</small></li>
`,
      )}</ul>`
}
</main>
<script>${new Markup(script)}</script>
</body>
</html>
`.text;
}
