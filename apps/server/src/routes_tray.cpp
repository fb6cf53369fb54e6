#include <nlohmann/json.hpp>

#include "anfract/http/problem.h"
#include "request_json.h"
#include "workspace.h"

namespace anfract::server {

void add_tray_routes(http::Router& router, Workspace& workspace) {
    router.add("GET", "/api/tray", [&workspace](http::Request&) {
        const auto tray = workspace.tray->now();
        return tray ? json_response(200, (*tray)->document) : http::problem(tray.error());
    });
    router.add(
        "PUT", "/api/tray",
        [&workspace](http::Request& request) {
            const auto replaced = workspace.tray->replace(request.body, request.user);
            return replaced ? json_response(200, (*replaced)->document)
                            : http::problem(replaced.error());
        },
        http::BodyRule::json());
}

}  // namespace anfract::server
