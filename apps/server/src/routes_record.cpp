#include <charconv>
#include <nlohmann/json.hpp>

#include "anfract/base/file.h"
#include "anfract/http/problem.h"
#include "anfract/record/attached_file.h"
#include "anfract/server/case_findings.h"
#include "anfract/server/patient_check.h"
#include "request_json.h"
#include "route_adder.h"

namespace anfract::server {
using nlohmann::json;

namespace {

constexpr std::uint64_t file_limit_bytes = std::uint64_t{64} << 20;

json to_json(const record::NotesVersion& version) {
    return {{"version", version.version},
            {"made", version.made},
            {"author", version.author},
            {"record", version.notes}};
}

json to_json(const record::CaseFile& file) {
    return {{"kind", file.kind},     {"version", file.version}, {"made", file.made},
            {"author", file.author}, {"name", file.name},       {"media_type", file.media_type},
            {"sha256", file.sha256}, {"bytes", file.bytes}};
}

Result<std::int64_t> version_of(const http::Request& request) {
    const std::string& text = request.parameters.at("version");
    std::int64_t number = 0;
    const auto end = std::from_chars(text.data(), text.data() + text.size(), number);
    if (end.ec != std::errc() || end.ptr != text.data() + text.size() || number < 1)
        return fail(ErrorCode::NotFound, "there is no such version", text, "look at the list");
    return number;
}

// ---- what is written down ----

http::Response get_record(Workspace& workspace, const http::Request& request) {
    const std::string& id = request.parameters.at("id");
    const auto newest = workspace.record->notes().find(id);
    if (!newest) return http::problem(newest.error());
    const auto work = workspace.cases->find(id);
    if (!work) return http::problem(work.error());
    const auto canals = anatomy_of((*work)->tooth);
    if (!canals) return http::problem(canals.error());
    json body = to_json(*newest);
    body["findings"] = findings_of(newest->notes, (*work)->record.fdi, *canals);
    const auto warnings = patient_warnings(*workspace.record, id, newest->notes);
    if (!warnings) return http::problem(warnings.error());
    body["findings"]["patient"] = *warnings;
    return json_response(200, body);
}

http::Response put_record(Workspace& workspace, const http::Request& request) {
    Result<json> body = object_of(request);
    if (!body) return http::problem(body.error());
    const auto based_on = body->find("based_on");
    if (based_on == body->end() || !based_on->is_number_integer()) {
        return http::problem({ErrorCode::BadInput, "is missing", "based_on",
                              "give the version that was changed, 0 for the first"});
    }
    const json given = body->value("record", json());
    const auto saved = workspace.record->notes().save(
        request.parameters.at("id"), based_on->get<std::int64_t>(), given, request.user);
    if (!saved) return http::problem(saved.error());
    if (const auto* version = std::get_if<record::NotesVersion>(&*saved))
        return json_response(200, to_json(*version));
    const record::NotesVersion& theirs = std::get<record::NotesConflict>(*saved).theirs;
    const Error error{ErrorCode::Conflict,
                      "version " + std::to_string(theirs.version) + " has been saved meanwhile",
                      "record", "look at both and save again"};
    json both = json::parse(http::problem(error).body);
    both["yours"] = given;
    both["theirs"] = to_json(theirs);
    return json_response(409, both);
}

http::Response get_versions(Workspace& workspace, const http::Request& request) {
    const auto versions = workspace.record->notes().versions(request.parameters.at("id"));
    if (!versions) return http::problem(versions.error());
    json list = json::array();
    for (const record::NotesVersion& version : *versions) {
        list.push_back(
            {{"version", version.version}, {"made", version.made}, {"author", version.author}});
    }
    return json_response(200, {{"versions", list}});
}

http::Response get_version(Workspace& workspace, const http::Request& request) {
    const auto number = version_of(request);
    if (!number) return http::problem(number.error());
    const auto version = workspace.record->notes().find(request.parameters.at("id"), *number);
    return version ? json_response(200, to_json(*version)) : http::problem(version.error());
}

// ---- files of the case ----

http::Response get_files(Workspace& workspace, const http::Request& request) {
    const auto files = workspace.record->cases().files(request.parameters.at("id"));
    if (!files) return http::problem(files.error());
    json list = json::array();
    for (const record::CaseFile& file : *files) list.push_back(to_json(file));
    return json_response(200, {{"files", list}});
}

http::Response get_file(Workspace& workspace, const http::Request& request) {
    const auto number = version_of(request);
    if (!number) return http::problem(number.error());
    const auto file = workspace.record->cases().file(request.parameters.at("id"),
                                                     request.parameters.at("kind"), *number);
    if (!file) return http::problem(file.error());
    auto bytes = workspace.record->vault().get(file->sha256);
    if (!bytes) return http::problem(bytes.error());
    http::Response response = http::respond(200, file->media_type, std::move(*bytes));
    // A file from elsewhere is never shown as a page of ours.
    response.set("Content-Disposition", "attachment");
    return response;
}

http::Response post_file(Workspace& workspace, const http::Request& request) {
    const Result<std::string> bytes = read_file(request.body_file);
    if (!bytes) return http::problem(bytes.error());
    const auto file = record::attached_file(request.query_value("kind").value_or(""),
                                            request.query_value("name").value_or(""), *bytes);
    if (!file) return http::problem(file.error());
    const auto stored =
        workspace.record->cases().add_file(request.parameters.at("id"), *file, request.user);
    return stored ? json_response(201, to_json(*stored)) : http::problem(stored.error());
}

/// Keeps the plan as it is now as a version, so that it can be told later what was planned.
http::Response post_plan_version(Workspace& workspace, const http::Request& request) {
    const std::string& id = request.parameters.at("id");
    const auto work = workspace.cases->find(id);
    if (!work) return http::problem(work.error());
    const auto measured = workspace.cases->measured_depths_mm(**work);
    if (!measured) return http::problem(measured.error());
    const auto tray = workspace.tray->now();
    if (!tray) return http::problem(tray.error());
    const auto plan = (*work)->plan_document(**tray, *measured, workspace.stopping);
    if (!plan) return http::problem(plan.error());
    const auto stored =
        workspace.record->cases().add_file(id, {"plan", **plan, "plan.json"}, request.user);
    return stored ? json_response(201, to_json(*stored)) : http::problem(stored.error());
}

}  // namespace

void add_record_routes(http::Router& router, Workspace& workspace) {
    const RouteAdder add(router, workspace);
    add("GET", "/api/cases/{id}/record", get_record);
    add("PUT", "/api/cases/{id}/record", put_record, http::BodyRule::json());
    add("GET", "/api/cases/{id}/record/versions", get_versions);
    add("GET", "/api/cases/{id}/record/versions/{version}", get_version);
    add("GET", "/api/cases/{id}/files", get_files);
    add("GET", "/api/cases/{id}/files/{kind}/{version}", get_file);
    add("POST", "/api/cases/{id}/files", post_file,
        http::BodyRule::file(workspace.directory->uploads(), file_limit_bytes));
    add("POST", "/api/cases/{id}/plan-versions", post_plan_version, http::BodyRule::json());
}

}  // namespace anfract::server
