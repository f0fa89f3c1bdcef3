import { defineConfig } from 'vite';

// The notebook of a walk is built by itself: the server sends it as one file, and so it is carried along.
export default defineConfig({
  root: import.meta.dirname,
  base: './',
  build: {
    outDir: '../../dist/notebook',
    emptyOutDir: true,
    // Phones of some years ago.
    target: 'es2020',
    modulePreload: { polyfill: false },
  },
});
