import js from '@eslint/js';
import tseslint from 'typescript-eslint';

export default tseslint.config(
  { ignores: ['dist/**', '.types/**', '.cache/**', 'out/**', 'node_modules/**', '**/*.cjs', 'tests/**/artefacts/**'] },
  js.configs.recommended,
  ...tseslint.configs.recommended,
  {
    rules: {
      '@typescript-eslint/no-unused-vars': ['error', { argsIgnorePattern: '^_', varsIgnorePattern: '^_' }],
      '@typescript-eslint/consistent-type-imports': 'error',
      'no-constant-condition': ['error', { checkLoops: false }],
      eqeqeq: ['error', 'always'],
      'prefer-const': 'error',
    },
  },
  {
    files: ['grammar/src/**/*.ts', 'server/**/*.ts', 'client/**/*.ts'],
    rules: { 'no-console': 'error', 'max-lines': ['warn', { max: 400, skipComments: true, skipBlankLines: true }] },
  },
  {
    files: ['**/*.mjs', 'tests/**/*.ts'],
    languageOptions: {
      globals: Object.fromEntries(
        [
          ...['console', 'process', 'Buffer', 'URL', 'URLSearchParams', 'performance', 'fetch'],
          ...['setTimeout', 'clearTimeout', 'setInterval', 'clearInterval'],
        ].map((name) => [name, 'readonly']),
      ),
    },
  },
  // Functions in here run in a page.
  {
    files: ['tests/editor/**/*.mjs', 'tests/bench/editor.bench.mjs'],
    languageOptions: { globals: { document: 'readonly', window: 'readonly' } },
  },
);
