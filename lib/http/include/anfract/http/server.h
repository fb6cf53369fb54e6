#pragma once

#include <chrono>
#include <cstdint>
#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <string>

#include "anfract/base/result.h"
#include "anfract/http/router.h"

namespace anfract::http {

/// A certificate and its key, as files in PEM form.
struct TlsFiles {
    std::filesystem::path certificate;  ///< with those that lead to its issuer, if any
    std::filesystem::path key;          ///< not for others to read
    bool empty() const { return certificate.empty() && key.empty(); }
};

/// Decides, before its body is read, whether a request may go on, and fills in `user`. Runs on a
/// handler thread. Answers with the refusal, or nothing.
using Guard = std::function<std::optional<Response>(Request&, const Route&)>;

struct ServerOptions {
    std::string address = "127.0.0.1";  ///< loopback, unless there are `tls` and a `guard`
    TlsFiles tls;                       ///< empty: plain HTTP
    Guard guard;                        ///< none: every request goes on
    std::uint16_t port = 0;             ///< 0: any free one
    unsigned handler_threads =
        4;  ///< handlers run here, never on the thread that serves the sockets
    unsigned max_connections = 512;  ///< more are closed at once
    std::uint32_t max_header_bytes = 16 * 1024;
    std::chrono::milliseconds idle_timeout{30'000};   ///< for the head of a request to arrive
    std::chrono::milliseconds chunk_timeout{30'000};  ///< for each 256 KiB of a body, either way
    std::chrono::milliseconds heartbeat{15'000};      ///< between comments on a silent event stream
    std::string content_security_policy =
        "default-src 'self'; img-src 'self' blob: data:; object-src 'none'; base-uri 'none'; "
        "form-action 'none'; frame-ancestors 'none'";
};

/// An HTTP/1.1 server for one machine or a local network. It answers only when the Host header
/// names loopback or a name of its certificate (so a foreign name that resolves here gets nothing),
/// and refuses requests that another site's page makes. Beyond loopback it listens only with
/// TLS 1.2 or newer and a guard.
class Server {
  public:
    /// Starts listening. Errors: BadInput (the address is not loopback and TLS or the guard are
    /// missing; the certificate or key cannot be used, or others may read the key), Io (the port is
    /// taken).
    static Result<std::unique_ptr<Server>> start(Router router, const ServerOptions& options);

    virtual ~Server() = default;  ///< stops
    virtual std::uint16_t port() const = 0;

    /// Takes no more requests, ends event streams, lets answers under way finish for up to half a
    /// second, then closes the rest. Returns when the handlers have returned. May be called more
    /// than once.
    virtual void stop() = 0;
};

}  // namespace anfract::http
