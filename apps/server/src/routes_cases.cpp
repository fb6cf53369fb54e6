#include <nlohmann/json.hpp>

#include "anfract/base/json_document.h"
#include "anfract/http/problem.h"
#include "anfract/tooth/tooth_file.h"
#include "request_json.h"
#include "workspace.h"

namespace anfract::server {
using nlohmann::json;

namespace {

constexpr std::uint64_t tooth_limit_bytes = std::uint64_t{64} << 20;  // surfaces make teeth large

json list_of(const std::vector<CaseRecord>& records) {
    json list = json::array();
    for (const CaseRecord& record : records) list.push_back(to_json(record));
    return list;
}

/// A tooth made elsewhere, by hand or by `anfract trace`, becomes a case as it is.
Result<CaseRecord> take_in(Workspace& workspace, const http::Request& request) {
    const Result<json> body = object_of(request);
    if (!body) return tl::unexpected(body.error());
    if (!body->contains("tooth")) {
        return fail(ErrorCode::BadInput, "is missing", "tooth", "give an anfract.tooth document");
    }
    const auto label = optional_text(*body, "label");
    if (!label) return tl::unexpected(label.error());
    const Result<json> document =
        parse_document(body->at("tooth").dump(), "anfract.tooth", "tooth");
    if (!document) return tl::unexpected(document.error());
    const Result<Tooth> tooth = tooth_from_json(*document, "tooth");
    if (!tooth) return tl::unexpected(tooth.error());
    return workspace.cases->add(*tooth, "", label->value_or("imported"));
}

}  // namespace

void add_case_routes(http::Router& router, Workspace& workspace) {
    router.add("GET", "/api/cases", [&workspace](http::Request&) {
        return json_response(200, {{"cases", list_of(workspace.cases->list())}});
    });
    router.add(
        "POST", "/api/cases",
        [&workspace](http::Request& request) {
            const Result<CaseRecord> added = take_in(workspace, request);
            return added ? json_response(201, to_json(*added)) : http::problem(added.error());
        },
        http::BodyRule::json(tooth_limit_bytes));
    router.add("GET", "/api/cases/{id}", [&workspace](http::Request& request) {
        const auto work = workspace.cases->find(request.parameters.at("id"));
        if (!work) return http::problem(work.error());
        json body = to_json((*work)->record);
        body["tooth"] = (*work)->document;
        return json_response(200, body);
    });
    router.add("DELETE", "/api/cases/{id}", [&workspace](http::Request& request) {
        const auto removed = workspace.cases->remove(request.parameters.at("id"));
        return removed ? http::respond(204, "application/json", "")
                       : http::problem(removed.error());
    });
}

}  // namespace anfract::server
