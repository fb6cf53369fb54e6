#pragma once

#include <cstdint>
#include <functional>
#include <map>
#include <optional>
#include <string>

#include "anfract/http/message.h"
#include "anfract/http/router.h"
#include "anfract/http/server.h"

namespace anfract::http {

/// The head of a request as it came, before anything was believed.
struct Head {
    std::string method;
    std::string target;
    std::multimap<std::string, std::string> headers;  ///< names in lower case
    std::optional<std::uint64_t> content_length;      ///< none: no body, or chunked
    bool chunked = false;
};

/// What the head alone decides: either a refusal, or the route and the request without its body.
struct Admission {
    std::optional<Response> refusal;
    const Route* route = nullptr;
    Request request;
};

/// What the server is called and how it is reached.
struct Reach {
    bool tls = false;
    /// Beside the names of loopback, without port.
    std::function<bool(const std::string& host)> is_our_name = [](const std::string&) {
        return false;
    };
};

/// Checks, in this order: Host, target, site of origin, route and method, media type, length. So
/// nothing of the program runs for a request that has no business here.
Admission admit(const Head& head, const Router& router, const Reach& reach);

/// The refusal of a body that is larger than the route takes.
Response too_large(std::uint64_t limit_bytes);

/// Adds what every answer carries (security headers, date, Cache-Control unless set) and compresses
/// JSON and text if the client accepts that.
void finish(Response& response, const std::string& accept_encoding, const ServerOptions& options);

}  // namespace anfract::http
