#pragma once

#include <memory>
#include <string>

#include "anfract/base/result.h"
#include "anfract/http/server.h"

struct ssl_ctx_st;

namespace anfract::http {

/// A certificate with its key, ready for connections of TLS 1.2 and 1.3 (OpenSSL).
class TlsContext {
  public:
    /// Errors: BadInput, NotFound, Io; also when others than the user may read the key.
    static Result<std::unique_ptr<TlsContext>> open(const TlsFiles& files);
    ~TlsContext();
    TlsContext(const TlsContext&) = delete;
    TlsContext& operator=(const TlsContext&) = delete;

    /// Whether the certificate was made for that name or address (RFC 6125).
    /// @param host  without port; an IPv6 address in brackets
    bool names(const std::string& host) const;

    ssl_ctx_st* handle() const { return context_; }

  private:
    explicit TlsContext(ssl_ctx_st* context) : context_(context) {}
    ssl_ctx_st* context_;
};

}  // namespace anfract::http
