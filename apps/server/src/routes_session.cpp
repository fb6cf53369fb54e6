#include <nlohmann/json.hpp>

#include "anfract/http/problem.h"
#include "request_json.h"
#include "workspace.h"

namespace anfract::server {
using nlohmann::json;

namespace {

/// Who looked at what, newest first.
http::Response get_access(Workspace& workspace, const http::Request& request) {
    const auto lines = workspace.record->access().lines(
        request.query_value("account").value_or(""), request.query_value("subject").value_or(""));
    if (!lines) return http::problem(lines.error());
    json list = json::array();
    for (const record::Access& line : *lines) {
        list.push_back({{"sequence", line.sequence},
                        {"at", line.at},
                        {"account", line.account},
                        {"what", line.what},
                        {"subject", line.subject}});
    }
    return json_response(200, {{"lines", list}});
}

}  // namespace

void add_session_routes(http::Router& router, Workspace& workspace) {
    Doorkeeper& door = *workspace.door;
    router.add("GET", "/api/session",
               [&door](http::Request& request) { return door.session(request); });
    router.add(
        "POST", "/api/session", [&door](http::Request& request) { return door.sign_in(request); },
        http::BodyRule::json(16 * 1024));
    router.add("DELETE", "/api/session",
               [&door](http::Request& request) { return door.sign_out(request); });
    router.add(
        "PUT", "/api/session/password",
        [&door](http::Request& request) { return door.change_password(request); },
        http::BodyRule::json(16 * 1024));
    router.add("GET", "/api/accounts", [&door](http::Request&) { return door.accounts(); });
    router.add(
        "POST", "/api/accounts",
        [&door](http::Request& request) { return door.add_account(request); },
        http::BodyRule::json(16 * 1024));
    router.add(
        "PUT", "/api/accounts/{name}",
        [&door](http::Request& request) { return door.change_account(request); },
        http::BodyRule::json(16 * 1024));
    router.add("GET", "/api/access",
               [&workspace](http::Request& request) { return get_access(workspace, request); });
}

}  // namespace anfract::server
