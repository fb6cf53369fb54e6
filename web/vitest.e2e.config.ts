import { defineConfig } from 'vitest/config';

/** The page in a real browser on the real program; reports and pictures go to artefacts/. */
export default defineConfig({
  test: {
    include: ['e2e/**/*.e2e.ts'],
    environment: 'node',
    fileParallelism: false,
    sequence: { concurrent: false },
    testTimeout: 300_000,
    hookTimeout: 300_000,
    // Long, because a machine may be busy with other things; what is awaited comes within a second on a quiet one.
    expect: { poll: { timeout: 60_000 } },
    bail: 0,
    reporters: ['default', ['junit', { outputFile: '../artefacts/tests/e2e.xml' }]],
  },
});
