import { resolve } from 'node:path';
import { expect, test } from 'vitest';
import { homePath } from './home.ts';

test('the data folder is where each platform keeps such things, or where the user says', () => {
  expect(homePath({}, 'linux', '/home/ada')).toBe('/home/ada/.local/share/everyroom');
  expect(homePath({ XDG_DATA_HOME: '/data' }, 'linux', '/home/ada')).toBe('/data/everyroom');
  expect(homePath({}, 'darwin', '/Users/ada')).toBe('/Users/ada/Library/Application Support/Everyroom');
  expect(homePath({ LOCALAPPDATA: '/ada/local' }, 'win32', '/ada')).toBe('/ada/local/Everyroom');
  expect(homePath({ EVERYROOM_HOME: 'here', XDG_DATA_HOME: '/data' }, 'linux', '/home/ada')).toBe(
    resolve('here'),
  );
});
