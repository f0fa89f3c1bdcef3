import react from '@vitejs/plugin-react';
import { defineConfig } from 'vite';

// In development the page is served by Vite and speaks to a running Everyroom: set EVERYROOM_URL when that is
// not on the usual port.
export default defineConfig({
  root: import.meta.dirname,
  plugins: [react()],
  build: { outDir: '../dist/page', emptyOutDir: true, target: 'es2022' },
  server: { proxy: { '/api': process.env.EVERYROOM_URL ?? 'http://127.0.0.1:4870' } },
});
