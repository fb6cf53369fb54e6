#pragma once

#include <filesystem>

namespace anfract {

/// Certificates for an encrypted connection, all PEM [DICOM PS3.15, B.9, BCP 195]. With `trusted`
/// the other side must show a certificate that one of those signed; a server without it takes
/// anyone who can connect, a client must have it.
struct DicomTls {
    std::filesystem::path key, certificate, trusted;
    bool wanted() const { return !key.empty() || !certificate.empty() || !trusted.empty(); }
};

}  // namespace anfract
