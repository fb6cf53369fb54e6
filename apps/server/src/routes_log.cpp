#include <nlohmann/json.hpp>

#include "anfract/http/problem.h"
#include "request_json.h"
#include "workspace.h"

namespace anfract::server {
using nlohmann::json;

namespace {

http::Response log_response(const Result<std::vector<json>>& entries) {
    if (!entries) return http::problem(entries.error());
    return json_response(200, {{"format", "anfract.log"}, {"version", 1}, {"entries", *entries}});
}

}  // namespace

void add_log_routes(http::Router& router, Workspace& workspace) {
    router.add("GET", "/api/cases/{id}/log", [&workspace](http::Request& request) {
        return log_response(workspace.record->log().entries(request.parameters.at("id")));
    });
    router.add(
        "POST", "/api/cases/{id}/log",
        [&workspace](http::Request& request) {
            Result<json> body = object_of(request);
            if (!body) return http::problem(body.error());
            return log_response(workspace.record->log().append(request.parameters.at("id"),
                                                               std::move(*body), request.user));
        },
        http::BodyRule::json());
}

}  // namespace anfract::server
