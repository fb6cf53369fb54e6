#include "anfract/http/problem.h"
#include "anfract/http/static_files.h"
#include "embedded_page.h"
#include "workspace.h"

namespace anfract::server {
namespace {

const char* const not_built =
    "<!doctype html><html lang=\"en\"><meta charset=\"utf-8\"><title>Anfract</title>"
    "<p>This program was built without its page. Build the page with <code>npm ci &amp;&amp; npm "
    "run build</code> in "
    "<code>web</code>, then build the program again; or start it with <code>--page "
    "web/dist</code>.</p></html>";

/// The page has addresses of its own, so it answers everything but what a program would ask for.
http::Handler but_not_the_api(http::Handler page) {
    return [page = std::move(page)](http::Request& request) {
        if (request.path != "/api" && !request.path.starts_with("/api/")) return page(request);
        return http::problem(
            {ErrorCode::NotFound, "there is nothing here", request.path, "see docs/http-api.md"});
    };
}

}  // namespace

void add_page(http::Router& router, const Workspace& workspace) {
    if (!workspace.options.page.empty()) {
        router.set_fallback(
            but_not_the_api([folder = workspace.options.page](http::Request& request) {
                return http::read_static_files(folder).answer(request);
            }));
        return;
    }
    auto files = std::make_shared<http::StaticFiles>();
    for (const auto& [path, bytes] : embedded_page()) files->add(std::string(path), bytes);
    if (files->empty()) files->add("index.html", not_built);
    router.set_fallback(
        but_not_the_api([files](http::Request& request) { return files->answer(request); }));
}

}  // namespace anfract::server
