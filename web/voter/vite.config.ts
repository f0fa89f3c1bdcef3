import { defineConfig } from 'vite';

// The page of voters is built by itself: it shares no code with the page of the host, and the server sends it as one file.
export default defineConfig({
  root: import.meta.dirname,
  base: './',
  build: {
    outDir: '../../dist/voter',
    emptyOutDir: true,
    // Phones of some years ago.
    target: 'es2020',
    modulePreload: { polyfill: false },
  },
});
