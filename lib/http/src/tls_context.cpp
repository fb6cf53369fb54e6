#include "tls_context.h"

#include <openssl/ssl.h>
#include <openssl/x509v3.h>
#include <sys/stat.h>

namespace anfract::http {
namespace {

/// A password in a key file would be asked for on the terminal, where nobody may sit.
int no_password(char*, int, int, void*) { return 0; }

}  // namespace

Result<std::unique_ptr<TlsContext>> TlsContext::open(const TlsFiles& files) {
    struct stat state{};
    if (::stat(files.key.c_str(), &state) != 0) {
        return fail(ErrorCode::NotFound, "there is no key of the certificate", files.key.string(),
                    "give the file of the key");
    }
    if ((state.st_mode & (S_IRWXG | S_IRWXO)) != 0) {
        return fail(ErrorCode::BadInput, "others may read the key", files.key.string(),
                    "run: chmod 600 " + files.key.string());
    }
    std::unique_ptr<TlsContext> tls(new TlsContext(SSL_CTX_new(TLS_server_method())));
    SSL_CTX* context = tls->context_;
    SSL_CTX_set_min_proto_version(context, TLS1_2_VERSION);
    SSL_CTX_set_default_passwd_cb(context, no_password);
    if (SSL_CTX_use_certificate_chain_file(context, files.certificate.c_str()) != 1) {
        return fail(ErrorCode::BadInput, "is not a certificate in PEM form",
                    files.certificate.string(), "give the file of the certificate");
    }
    if (SSL_CTX_use_PrivateKey_file(context, files.key.c_str(), SSL_FILETYPE_PEM) != 1 ||
        SSL_CTX_check_private_key(context) != 1) {
        return fail(ErrorCode::BadInput,
                    "is not a key in PEM form without a password that belongs to the certificate",
                    files.key.string(), "give the key that the certificate was made with");
    }
    return tls;
}

TlsContext::~TlsContext() { SSL_CTX_free(context_); }

bool TlsContext::names(const std::string& host) const {
    X509* certificate = SSL_CTX_get0_certificate(context_);
    const bool bracketed = host.size() > 2 && host.front() == '[' && host.back() == ']';
    const std::string name = bracketed ? host.substr(1, host.size() - 2) : host;
    return X509_check_host(certificate, name.c_str(), name.size(), 0, nullptr) == 1 ||
           X509_check_ip_asc(certificate, name.c_str(), 0) == 1;
}

}  // namespace anfract::http
