import { readFileSync } from 'node:fs';
import openapiTS, { astToString, COMMENT_HEADER } from 'openapi-typescript';
import { expect, it } from 'vitest';

it('is the shape that the server publishes (else: npm run types)', async () => {
  const made =
    COMMENT_HEADER + astToString(await openapiTS(new URL('../../docs/openapi.json', import.meta.url)));
  expect(readFileSync('src/lib/schema.d.ts', 'utf8')).toBe(made);
});
