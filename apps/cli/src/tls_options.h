#pragma once

#include <CLI/App.hpp>

#include "anfract/exchange/dicom_tls.h"

namespace anfract::cli {

/// Adds --key, --certificate and --trusted.
inline void add_tls_options(CLI::App& command, DicomTls& tls) {
    command.add_option("--key", tls.key, "PEM key of this program, for an encrypted connection");
    command.add_option("--certificate", tls.certificate, "PEM certificate that belongs to it");
    command.add_option("--trusted", tls.trusted,
                       "PEM certificate that signed that of the other side, which must show it");
}

}  // namespace anfract::cli
