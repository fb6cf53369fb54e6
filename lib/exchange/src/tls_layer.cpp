#include "tls_layer.h"

#include <mutex>

namespace anfract {

Result<std::unique_ptr<DcmTLSTransportLayer>> tls_layer(const DicomTls& files, bool server) {
    static std::once_flag once;
    std::call_once(once, [] { DcmTLSTransportLayer::initializeOpenSSL(); });
    if (files.key.empty() != files.certificate.empty() || (server && files.key.empty())) {
        return fail(ErrorCode::BadInput, "a key and its certificate belong together", "",
                    "give both files");
    }
    if (!server && files.trusted.empty()) {
        return fail(ErrorCode::BadInput, "nobody is trusted to be the other side", "",
                    "give the certificate that signed theirs");
    }
    auto layer = std::make_unique<DcmTLSTransportLayer>(server ? NET_ACCEPTOR : NET_REQUESTOR,
                                                        nullptr, OFFalse);
    const auto bad = [](const char* what, const std::filesystem::path& file) {
        return fail(ErrorCode::BadInput, what, file.string(), "give a PEM file");
    };
    if (!files.key.empty()) {
        // Without this a key with a password would ask for it on the terminal.
        layer->setPrivateKeyPasswd("");
        if (layer->setPrivateKeyFile(files.key.c_str(), DCF_Filetype_PEM).bad())
            return bad("is not a key without a password", files.key);
        if (layer->setCertificateFile(files.certificate.c_str(), DCF_Filetype_PEM).bad())
            return bad("is not a certificate", files.certificate);
        if (!layer->checkPrivateKeyMatchesCertificate())
            return bad("does not belong to the key", files.certificate);
    }
    if (!files.trusted.empty() &&
        layer->addTrustedCertificateFile(files.trusted.c_str(), DCF_Filetype_PEM).bad())
        return bad("is not a certificate", files.trusted);
    if (layer->setTLSProfile(TSP_Profile_BCP195).bad() || layer->activateCipherSuites().bad())
        return fail(ErrorCode::Io, "encryption cannot be prepared", "", "check OpenSSL");
    layer->setCertificateVerification(files.trusted.empty() ? DCV_ignoreCertificate
                                                            : DCV_requireCertificate);
    return layer;
}

}  // namespace anfract
