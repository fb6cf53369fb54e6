#include <nlohmann/json.hpp>

#include "request_json.h"
#include "workspace.h"

namespace anfract::server {

void add_about_routes(http::Router& router) {
    router.add("GET", "/api/about", [](http::Request&) {
        return json_response(
            200, {{"name", "Anfract"},
                  {"version", ANFRACT_VERSION},
                  {"cautions",
                   {"A planning aid, not a cleared medical device; local codes and the licensed "
                    "clinician decide.",
                    "Verify every working length with an apex locator and a radiograph.",
                    "Irrigant extrusion, instrument fracture, perforation and heat can hurt the "
                    "patient.",
                    "Scans are personal data: this server answers only on this machine and sends "
                    "nothing anywhere."}}});
    });
}

}  // namespace anfract::server
