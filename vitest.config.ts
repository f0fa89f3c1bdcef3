import { defineConfig } from 'vitest/config';

const node = (name: string, include: string[], testTimeout = 30_000) => ({
  test: { name, include, environment: 'node' as const, testTimeout, hookTimeout: 120_000 },
});

export default defineConfig({
  test: {
    projects: [
      node('unit', ['src/**/*.test.ts', 'demo/**/*.test.ts', 'web/**/*.test.ts', 'scripts/**/*.test.ts']),
      node('conformance', ['test/conformance/**/*.test.ts'], 120_000),
      node('integration', ['test/integration/**/*.test.ts'], 120_000),
      node('browser', ['test/browser/**/*.test.ts'], 120_000),
    ],
    maxWorkers: 2,
  },
});
