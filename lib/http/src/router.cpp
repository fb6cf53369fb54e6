#include "anfract/http/router.h"

#include <set>

namespace anfract::http {
namespace {

bool is_name(const std::string& piece) {
    return piece.size() > 2 && piece.front() == '{' && piece.back() == '}';
}

bool matches(const std::vector<std::string>& pattern, const std::vector<std::string>& segments,
             std::map<std::string, std::string>& parameters) {
    if (pattern.size() != segments.size()) return false;
    for (std::size_t i = 0; i < pattern.size(); ++i) {
        if (is_name(pattern[i])) {
            parameters[pattern[i].substr(1, pattern[i].size() - 2)] = segments[i];
        } else if (pattern[i] != segments[i]) {
            return false;
        }
    }
    return true;
}

std::string joined(const std::set<std::string>& names) {
    std::string text;
    for (const std::string& name : names) text.append(text.empty() ? "" : ", ").append(name);
    return text;
}

}  // namespace

std::string Route::name() const {
    std::string text = method + " ";
    for (const std::string& segment : pattern) text += "/" + segment;
    return pattern.empty() ? text + "/" : text;
}

void Router::wrap(const std::function<Handler(const Route&, Handler)>& around) {
    for (Route& route : routes_) route.handler = around(route, std::move(route.handler));
}

void Router::add(const std::string& method, const std::string& pattern, Handler handler,
                 BodyRule body) {
    routes_.push_back(
        {method, parse_target(pattern).value().segments, std::move(body), std::move(handler)});
}

void Router::set_fallback(Handler handler) { fallback_ = Route{"GET", {}, {}, std::move(handler)}; }

Router::Match Router::find(const std::string& method, const Target& target) const {
    const std::string wanted = method == "HEAD" ? "GET" : method;
    std::set<std::string> allowed;
    for (const Route& route : routes_) {
        Match match;
        if (!matches(route.pattern, target.segments, match.parameters)) continue;
        if (route.method == wanted) {
            match.route = &route;
            match.status = 200;
            return match;
        }
        allowed.insert(route.method);
        if (route.method == "GET") allowed.insert("HEAD");
    }
    if (allowed.empty() && fallback_) {
        if (wanted == "GET") return {&*fallback_, {}, 200, {}};
        allowed = {"GET", "HEAD"};
    }
    if (allowed.empty()) return {};
    return {nullptr, {}, 405, joined(allowed)};
}

}  // namespace anfract::http
