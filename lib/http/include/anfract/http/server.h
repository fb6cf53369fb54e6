#pragma once

#include <chrono>
#include <cstdint>
#include <memory>
#include <string>

#include "anfract/base/result.h"
#include "anfract/http/router.h"

namespace anfract::http {

struct ServerOptions {
    std::string address = "127.0.0.1";  ///< must be a loopback address
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

/// An HTTP/1.1 server for one machine: it listens on loopback only, answers only when the Host
/// header names loopback (so a foreign name that resolves here gets nothing), and refuses requests
/// that another site's page makes.
class Server {
  public:
    /// Starts listening. Errors: BadInput (address is not loopback), Io (the port is taken).
    static Result<std::unique_ptr<Server>> start(Router router, const ServerOptions& options);

    virtual ~Server() = default;  ///< stops
    virtual std::uint16_t port() const = 0;

    /// Takes no more requests, ends event streams, lets answers under way finish for up to half a
    /// second, then closes the rest. Returns when the handlers have returned. May be called more
    /// than once.
    virtual void stop() = 0;
};

}  // namespace anfract::http
