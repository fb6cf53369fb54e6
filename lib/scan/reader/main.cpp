// The process that parses and decodes scans for the program. It is started by the library, with the
// control socket as its standard input; it is of no use to a person.
#include <unistd.h>

#include <cstdio>

#include "parse_scan.h"
#include "reader_host.h"

int main() {
    if (::isatty(STDIN_FILENO) != 0) {
        std::fputs("anfract_scan_reader is started by anfract; run that instead.\n", stderr);
        return 2;
    }
    anfract::prepare_parsers();
    return anfract::run_reader_host(STDIN_FILENO, anfract::serve_request);
}
