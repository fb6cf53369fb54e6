#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <map>
#include <string>
#include <vector>

#include "anfract/http/message.h"
#include "anfract/http/target.h"

namespace anfract::http {

/// What body a route takes, how large, and where it goes.
struct BodyRule {
    enum class Kind { None, Memory, File } kind = Kind::None;
    std::string content_type;         ///< required media type; another one is refused with 415
    std::uint64_t limit_bytes = 0;    ///< a larger body is refused with 413
    std::filesystem::path directory;  ///< for File: where the body is written while it arrives

    static BodyRule none() { return {}; }
    static BodyRule json(std::uint64_t limit_bytes = std::uint64_t{4} << 20) {
        return {Kind::Memory, "application/json", limit_bytes, {}};
    }
    static BodyRule file(std::filesystem::path directory,
                         std::uint64_t limit_bytes = std::uint64_t{4} << 30) {
        return {Kind::File, "application/octet-stream", limit_bytes, std::move(directory)};
    }
};

struct Route {
    std::string method;
    std::vector<std::string> pattern;  ///< "{name}" matches any one segment
    BodyRule body;
    Handler handler;

    /// "GET /api/scans/{id}"
    std::string name() const;
};

/// Finds the handler of a request.
class Router {
  public:
    /// @param pattern  such as "/api/scans/{id}/brick". GET also answers HEAD.
    void add(const std::string& method, const std::string& pattern, Handler handler,
             BodyRule body = BodyRule::none());

    /// Answers GET for every path no pattern matches; without it those are 404.
    void set_fallback(Handler handler);

    struct Match {
        const Route* route = nullptr;  ///< null: refused with `status`
        std::map<std::string, std::string> parameters;
        int status = 404;   ///< 404 or 405
        std::string allow;  ///< for 405: "GET, HEAD, POST"
    };
    Match find(const std::string& method, const Target& target) const;

    /// All of them, in the order in which they were added, without the fallback.
    const std::vector<Route>& routes() const { return routes_; }
    /// Puts `around` in the place of each handler. @param around  is given the route and its
    /// handler
    void wrap(const std::function<Handler(const Route&, Handler)>& around);

  private:
    std::vector<Route> routes_;
    std::optional<Route> fallback_;
};

}  // namespace anfract::http
