import type { WalkPageData } from '../../src/places/walk-shapes.ts';
import '../style/paper.css';
import '../voter/voter.css';
import './notebook.css';
import { NotebookPage } from './page.ts';
import { carried, served } from './source.ts';

// A page that is carried along holds all that it needs; from a server it is asked for.
const data = document.getElementById('everyroom-walk')?.textContent;
const source = data
  ? carried(JSON.parse(data) as WalkPageData)
  : served(location.origin + location.pathname.replace(/\/+$/, ''));
void new NotebookPage(document.getElementById('notebook')!, source).start();
