// count-tests.mjs STATUS REPORT...: adds up JUnit and GoogleTest reports and prints "N passed, N failed" as the last
// line. STATUS is 0 if every runner ended well: a runner that died without a report is counted as one failure.
import { readFileSync } from "node:fs";

const [status, ...reports] = process.argv.slice(2);
let passed = 0;
let failed = 0;
for (const file of reports) {
    for (const text of readFileSync(file, "utf8").split("<testcase ").slice(1)) {
        const body = text.split("</testcase>")[0];
        if (/<failure|<error|<skipped/.test(body)) failed += 1;
        else passed += 1;
    }
}
if (failed === 0 && (status !== "0" || passed === 0)) failed = 1;
console.log(`${passed} passed, ${failed} failed`);
process.exit(failed === 0 ? 0 : 1);
