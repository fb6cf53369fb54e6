#include <nlohmann/json.hpp>

#include "anfract/http/problem.h"
#include "anfract/passage/passage_file.h"
#include "anfract/passage/rehearse.h"
#include "rehearsal_json.h"
#include "request_json.h"
#include "workspace.h"

namespace anfract::server {
using nlohmann::json;

namespace {

http::Response post_rehearse(Workspace& workspace, const http::Request& request) {
    const auto work = workspace.cases->find(request.parameters.at("id"));
    if (!work) return http::problem(work.error());
    const Result<Rehearsal> wanted = object_of(request).and_then(rehearsal_of);
    if (!wanted) return http::problem(wanted.error());
    const auto lumen = (*work)->lumen(wanted->canal);
    if (!lumen) return http::problem(lumen.error());
    const auto tray = workspace.tray->now();
    if (!tray) return http::problem(tray.error());
    const Device* const device = (*tray)->tray.find(wanted->device);
    if (device == nullptr) {
        return http::problem({ErrorCode::NotFound,
                              "there is no device '" + wanted->device + "' in the tray", "device",
                              "choose one of the tray's devices"});
    }
    const Result<Passage> passage =
        wanted->tip_depth_mm ? hold_at(**lumen, *device, *wanted->tip_depth_mm, wanted->how)
                             : rehearse(**lumen, *device, wanted->how);
    return passage ? json_response(200, passage_to_json(*passage, true))
                   : http::problem(passage.error());
}

using Document = Result<std::shared_ptr<const std::string>>;

Document passages_of(const Workspace& workspace, const std::string& id, const Progress& progress) {
    const auto work = workspace.cases->find(id);
    if (!work) return tl::unexpected(work.error());
    const auto tray = workspace.tray->now();
    if (!tray) return tl::unexpected(tray.error());
    return (*work)->passages(**tray, progress);
}

Document plan_of(const Workspace& workspace, const std::string& id, const Progress& progress) {
    const auto work = workspace.cases->find(id);
    if (!work) return tl::unexpected(work.error());
    const auto measured = workspace.cases->measured_depths_mm(**work);
    if (!measured) return tl::unexpected(measured.error());
    const auto tray = workspace.tray->now();
    if (!tray) return tl::unexpected(tray.error());
    return (*work)->plan_document(**tray, *measured, progress);
}

/// A document that is kept as text is sent without copying it.
http::Response document_response(const Document& text) {
    if (!text) return http::problem(text.error());
    http::Response response = http::respond(200, "application/json", "");
    response.shared_body = *text;
    return response;
}

/// A document that takes seconds the first time: GET waits for it; POST makes it as a job whose
/// progress can be followed and which can be cancelled, and GET then has it at once.
void add_slow_document(http::Router& router, Workspace& workspace, const std::string& name,
                       Document (*make)(const Workspace&, const std::string& id, const Progress&)) {
    router.add("GET", "/api/cases/{id}/" + name, [&workspace, make](http::Request& request) {
        return document_response(make(workspace, request.parameters.at("id"), *request.waiting));
    });
    router.add(
        "POST", "/api/cases/{id}/" + name,
        [&workspace, make](http::Request& request) {
            const std::string id = request.parameters.at("id");
            const auto work = workspace.cases->find(id);
            if (!work) return http::problem(work.error());
            return job_response(workspace.jobs->submit(
                [&workspace, make, id](const Progress& progress) -> Result<std::string> {
                    const Document made = make(workspace, id, progress);
                    if (!made) return tl::unexpected(made.error());
                    return id;
                }));
        },
        http::BodyRule::json());
}

}  // namespace

void add_reading_routes(http::Router& router, Workspace& workspace) {
    router.add("GET", "/api/cases/{id}/measures", [&workspace](http::Request& request) {
        const auto work = workspace.cases->find(request.parameters.at("id"));
        return work ? document_response((*work)->measures()) : http::problem(work.error());
    });
    add_slow_document(router, workspace, "passages", passages_of);
    add_slow_document(router, workspace, "plan", plan_of);
    router.add(
        "POST", "/api/cases/{id}/rehearse",
        [&workspace](http::Request& request) { return post_rehearse(workspace, request); },
        http::BodyRule::json());
}

}  // namespace anfract::server
