import { spawn } from 'node:child_process';

/** Opens the address in the user's browser where there is a display; silently does nothing elsewhere. */
export function openBrowser(url) {
  const { platform, env } = process;
  if (env.CI || (platform === 'linux' && !env.DISPLAY && !env.WAYLAND_DISPLAY)) return;
  const [command, args] =
    platform === 'darwin'
      ? ['open', [url]]
      : platform === 'win32'
        ? ['cmd', ['/c', 'start', '', url]]
        : ['xdg-open', [url]];
  const child = spawn(command, args, { stdio: 'ignore', detached: true });
  child.on('error', () => {}); // the address is on the terminal anyway
  child.unref();
}
