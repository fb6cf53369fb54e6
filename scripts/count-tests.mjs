// Adds up JUnit reports and prints "N passed, N failed" as the last line; fails when a report is empty.
import { readFileSync } from "node:fs";

let passed = 0;
let failed = 0;
for (const file of process.argv.slice(2)) {
    const cases = readFileSync(file, "utf8").split("<testcase ").slice(1);
    if (cases.length === 0) failed += 1;
    for (const text of cases) {
        const body = text.split("</testcase>")[0];
        const bad = /<failure|<error/.test(body) || /status="(fail|disabled|notrun)"/.test(body);
        if (bad) failed += 1;
        else passed += 1;
    }
}
if (passed === 0) failed += 1;
console.log(`${passed} passed, ${failed} failed`);
process.exit(failed === 0 ? 0 : 1);
