import { defineConfig } from 'vitest/config';

const node = (name: string, include: string[], testTimeout = 30_000, isolate = true) => ({
  test: { name, include, environment: 'node' as const, testTimeout, hookTimeout: 120_000, isolate },
});

export default defineConfig({
  test: {
    projects: [
      // The engine keeps no state, so that its tests can share what they load.
      node(
        'unit',
        ['src/**/*.test.ts', 'demo/**/*.test.ts', 'web/**/*.test.ts', 'scripts/**/*.test.ts'],
        30_000,
        false,
      ),
      node('conformance', ['test/conformance/**/*.test.ts'], 120_000, false),
      node('integration', ['test/integration/**/*.test.ts'], 120_000),
      node('browser', ['test/browser/**/*.test.ts'], 120_000),
    ],
    // One more than the cores of the machines that this has to be quick on: browsers and killed servers are often waited for.
    maxWorkers: 3,
  },
});
