#include <charconv>
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

/// A whole number that is not negative in the query, if it is there.
Result<std::int64_t> query_number(const http::Request& request, const std::string& name,
                                  std::int64_t otherwise) {
    const auto text = request.query_value(name);
    if (!text) return otherwise;
    std::int64_t number = -1;
    const auto end = std::from_chars(text->data(), text->data() + text->size(), number);
    if (end.ec != std::errc() || end.ptr != text->data() + text->size() || number < 0)
        return fail(ErrorCode::BadInput, "is not a whole number", name, "give 0 or more");
    return number;
}

Result<json> list_cases(Workspace& workspace, const http::Request& request) {
    const auto limit = query_number(request, "limit", -1),
               offset = query_number(request, "offset", 0);
    if (!limit) return tl::unexpected(limit.error());
    if (!offset) return tl::unexpected(offset.error());
    const auto list =
        workspace.record->cases().list(request.query_value("find").value_or(""), *limit, *offset);
    if (!list) return tl::unexpected(list.error());
    return json{{"cases", list_of(*list)}};
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
    const Result<json> document = check_document(body->at("tooth"), "anfract.tooth", "tooth");
    if (!document) return tl::unexpected(document.error());
    const Result<Tooth> tooth = tooth_from_json(*document, "tooth");
    if (!tooth) return tl::unexpected(tooth.error());
    return workspace.cases->add(*tooth, "", label->value_or("imported"), request.user);
}

}  // namespace

void add_case_routes(http::Router& router, Workspace& workspace) {
    router.add("GET", "/api/cases", [&workspace](http::Request& request) {
        const auto list = list_cases(workspace, request);
        return list ? json_response(200, *list) : http::problem(list.error());
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
        body["tooth_version"] = (*work)->tooth_version;
        return json_response(200, body);
    });
    router.add("DELETE", "/api/cases/{id}", [&workspace](http::Request& request) {
        const std::string& id = request.parameters.at("id");
        const auto removed = workspace.record->cases().set_aside(id);
        if (removed) workspace.corrections->forget(id);
        return removed ? http::respond(204, "application/json", "")
                       : http::problem(removed.error());
    });
}

}  // namespace anfract::server
