#include <nlohmann/json.hpp>

#include "anfract/plan/cautions.h"
#include "request_json.h"
#include "workspace.h"

namespace anfract::server {

void add_about_routes(http::Router& router) {
    router.add("GET", "/api/about", [](http::Request&) {
        nlohmann::json cautions = plan_cautions();
        cautions.push_back(
            "Scans are personal data: keep them where only those who treat the patient can see "
            "them. "
            "This program sends nothing anywhere by itself.");
        return json_response(
            200, {{"name", "Anfract"}, {"version", ANFRACT_VERSION}, {"cautions", cautions}});
    });
}

}  // namespace anfract::server
