#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "anfract/base/progress.h"
#include "anfract/http/event_stream.h"
#include "anfract/http/mapped_file.h"

namespace anfract::http {

/// What a client asked for, once its body has arrived whole.
struct Request {
    std::string method;                             ///< "GET", "POST", ...; HEAD arrives as GET
    std::string path;                               ///< decoded, without the query: "/api/scans"
    std::map<std::string, std::string> parameters;  ///< the {names} of the route's pattern, decoded
    std::multimap<std::string, std::string> query;  ///< decoded
    std::multimap<std::string, std::string> headers;  ///< names in lower case
    std::string body;                                 ///< of a route that takes its body in memory
    std::string peer;                                 ///< address of the other side, "192.0.2.7"
    std::string user;  ///< who asks, as the server's guard found; empty without one
    /// Of a route that takes its body as a file: where it lies. It is removed once the handler has
    /// returned, unless the handler has moved it elsewhere.
    std::filesystem::path body_file;
    /// Cancelled when nobody waits for the answer any more: the client has closed the connection,
    /// or the server stops.
    std::shared_ptr<Progress> waiting = std::make_shared<Progress>();

    /// The first header, or query value, of that name.
    std::optional<std::string> header(const std::string& lower_case_name) const;
    std::optional<std::string> query_value(const std::string& name) const;
};

/// What the server answers. Security headers, length, date and compression are added by the server.
struct Response {
    int status = 200;
    std::vector<std::pair<std::string, std::string>> headers;
    std::string body;
    std::shared_ptr<const std::string> shared_body;  ///< sent in place of `body` when set
    std::shared_ptr<const MappedFile> file;          ///< sent in place of both when set
    /// When set, the answer is a stream of server-sent events that stays open. The function is
    /// called once, with the stream, after the head was sent; whoever keeps the stream may send on
    /// it from any thread.
    std::function<void(std::shared_ptr<EventStream>)> stream;

    std::string_view bytes() const {
        return file ? file->bytes() : shared_body ? *shared_body : body;
    }
    /// Sets a header, replacing one of the same name (in any case).
    void set(const std::string& name, std::string value);
    bool has(const std::string& name) const;
};

using Handler = std::function<Response(Request&)>;

/// A response with a body of that type.
Response respond(int status, std::string content_type, std::string body);

/// "Not Found" for 404 and so on; "Unknown" for a number that has no name.
std::string_view status_name(int status);

}  // namespace anfract::http
