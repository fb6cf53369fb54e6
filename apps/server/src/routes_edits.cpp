#include <nlohmann/json.hpp>

#include "anfract/http/problem.h"
#include "anfract/tooth/tooth_file.h"
#include "request_json.h"
#include "workspace.h"

namespace anfract::server {
using nlohmann::json;

namespace {

/// Brings a case onto the bench: reads its scan and traces again what the edits start from.
Result<std::string> open_bench(Workspace& workspace, const std::string& case_id,
                               const std::string& scan_id, const Progress& progress) {
    const auto request = workspace.corrections->request(case_id);
    if (!request) return tl::unexpected(request.error());
    const auto scan = workspace.scans->open(scan_id, progress);
    if (!scan) return tl::unexpected(scan.error());
    const auto opened = workspace.corrections->open(case_id, (*scan)->volume, *request, progress);
    if (!opened) return tl::unexpected(opened.error());
    return case_id;
}

http::Response post_open(Workspace& workspace, const http::Request& request) {
    const auto work = workspace.cases->find(request.parameters.at("id"));
    if (!work) return http::problem(work.error());
    const CaseRecord record = (*work)->record;
    if (const auto traced = workspace.corrections->request(record.id); !traced) {
        return http::problem(traced.error());
    }
    return job_response(workspace.jobs->submit([&workspace, record](const Progress& progress) {
        return open_bench(workspace, record.id, record.scan, progress);
    }));
}

http::Response get_edits(Workspace& workspace, const http::Request& request) {
    const auto work = workspace.cases->find(request.parameters.at("id"));
    if (!work) return http::problem(work.error());
    const std::string& id = (*work)->record.id;
    const auto list = workspace.corrections->edits(id);
    if (!list) return http::problem(list.error());
    json body = to_json(*list);
    body.update(workspace.corrections->makers(id));
    body["tooth_version"] = (*work)->tooth_version;
    body["open"] = workspace.corrections->is_open(id);
    body["possible"] = workspace.corrections->request(id).has_value();
    return json_response(200, body);
}

/// The tooth these edits were made from is the one that is there, if the request says which it was.
Result<void> check_base(const json& body, std::int64_t newest) {
    const auto based_on = optional_number(body, "based_on");
    if (!based_on) return tl::unexpected(based_on.error());
    if (!*based_on || **based_on == double(newest)) return {};
    return fail(ErrorCode::Conflict, "was corrected from elsewhere meanwhile", "the tooth",
                "look at it as it is now, then make the last correction again");
}

/// What an edit can change of a tooth; the surfaces stay as traced and are not sent again.
json changed_parts(Tooth tooth) {
    tooth.surface.reset();
    tooth.chamber.reset();
    const json document = tooth_to_json(tooth);
    json parts{{"canals", document.at("canals")}, {"reference_mm", document.at("reference_mm")}};
    parts["findings"] = document.value("findings", json::array());
    return parts;
}

http::Response post_edits(Workspace& workspace, const http::Request& request) {
    const auto work = workspace.cases->find(request.parameters.at("id"));
    if (!work) return http::problem(work.error());
    const CaseRecord& record = (*work)->record;
    const Result<json> body = object_of(request);
    if (!body) return http::problem(body.error());
    const auto list = edit_list_of(*body);
    if (!list) return http::problem(list.error());
    const json keep = body->value("keep", json(true));
    if (!keep.is_boolean()) {
        return http::problem({ErrorCode::BadInput, "is not true or false", "keep",
                              "leave it out to keep the edits"});
    }
    if (const auto base = check_base(*body, (*work)->tooth_version); !base) {
        return http::problem(base.error());
    }
    // After a restart the bench is empty; the first edit then takes as long as tracing.
    if (const auto open = open_bench(workspace, record.id, record.scan, workspace.stopping); !open)
        return http::problem(open.error());
    Result<Tooth> tooth = workspace.corrections->edited(record.id, list->edits);
    if (!tooth) return http::problem(tooth.error());
    tooth->invented = (*work)->tooth.invented;
    json answer = changed_parts(*tooth);
    answer.update(to_json(*list));
    answer["tooth_version"] = (*work)->tooth_version;
    if (keep.get<bool>()) {
        // The tooth first: if another page changed it meanwhile, neither is stored.
        const auto changed =
            workspace.cases->change(record.id, *tooth, (*work)->tooth_version, request.user);
        if (!changed) return http::problem(changed.error());
        answer["tooth_version"] = *changed;
        const auto kept = workspace.corrections->keep(record.id, *list, request.user);
        if (!kept) return http::problem(kept.error());
    }
    return json_response(200, answer);
}

}  // namespace

void add_edit_routes(http::Router& router, Workspace& workspace) {
    router.add("GET", "/api/cases/{id}/edits",
               [&workspace](http::Request& request) { return get_edits(workspace, request); });
    router.add(
        "POST", "/api/cases/{id}/edits",
        [&workspace](http::Request& request) { return post_edits(workspace, request); },
        http::BodyRule::json());
    router.add(
        "POST", "/api/cases/{id}/edits/open",
        [&workspace](http::Request& request) { return post_open(workspace, request); },
        http::BodyRule::json());
}

}  // namespace anfract::server
