import type { VoterFolder } from '../../src/shootout/voter-shapes.ts';
import '../style/paper.css';
import './voter.css';
import { FolderBooth } from './folder-booth.ts';
import { VoterPage } from './page.ts';
import { ServedBooth } from './served-booth.ts';

// In a folder on disk the rounds are in the page; from a server they are asked for.
const data = document.getElementById('everyroom-round')?.textContent;
const page = new VoterPage(document.getElementById('voter')!, (tell) =>
  data
    ? new FolderBooth(JSON.parse(data) as VoterFolder)
    : new ServedBooth(location.pathname.replace(/\/+$/, ''), tell),
);
void page.start();
