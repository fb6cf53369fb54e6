#include <charconv>
#include <nlohmann/json.hpp>

#include "anfract/geometry/point_text.h"
#include "anfract/http/problem.h"
#include "anfract/scan/read_scan.h"
#include "brick_bytes.h"
#include "request_json.h"
#include "workspace.h"

namespace anfract::server {
using nlohmann::json;

namespace {

/// The refusal of a scan; when it is that there are several series, they are listed, so that one
/// can be chosen.
http::Response refuse_scan(const Error& error, const std::filesystem::path& path,
                           const std::string& series_uid, const std::string& upload) {
    http::Response plain = http::problem(error);
    if (error.code != ErrorCode::BadInput || !series_uid.empty()) return plain;
    const auto series = list_series(path, Progress());
    if (!series || series->size() < 2) return plain;
    json body = json::parse(plain.body);
    for (const SeriesInfo& one : *series) {
        body["candidates"].push_back({{"series_uid", one.series_uid},
                                      {"description", one.description},
                                      {"slices", one.slices}});
    }
    if (!upload.empty()) body["upload"] = upload;
    return json_response(409, body);
}

http::Response open_where_it_lies(Workspace& workspace, const json& body,
                                  const std::string& series_uid) {
    if (!workspace.options.is_local()) {
        // Else everybody with an account could have any file of this machine read.
        return http::problem({ErrorCode::Unsupported, "is opened only on the machine itself",
                              "path", "send the file instead"});
    }
    const Result<std::string> path = text_of(body, "path");
    if (!path) return http::problem(path.error());
    const auto added = workspace.scans->add(*path, series_uid, workspace.stopping);
    if (!added) return refuse_scan(added.error(), *path, series_uid, "");
    return json_response(201, to_json(*added));
}

http::Response take_upload(Workspace& workspace, const WaitingUpload& upload,
                           const std::string& series_uid) {
    const auto added =
        workspace.scans->add_upload(upload.file, upload.name, series_uid, workspace.stopping);
    if (added) {
        workspace.uploads->forget(upload.id);
        return json_response(201, to_json(*added));
    }
    http::Response refusal = refuse_scan(added.error(), upload.file, series_uid, upload.id);
    if (refusal.status != 409) workspace.uploads->forget(upload.id);
    return refusal;
}

http::Response post_scan(Workspace& workspace, const http::Request& request) {
    const Result<json> body = object_of(request);
    if (!body) return http::problem(body.error());
    const auto series_uid = optional_text(*body, "series_uid");
    if (!series_uid) return http::problem(series_uid.error());
    const auto upload_id = optional_text(*body, "upload");
    if (!upload_id) return http::problem(upload_id.error());
    if (!*upload_id) return open_where_it_lies(workspace, *body, series_uid->value_or(""));
    const auto upload = workspace.uploads->find(**upload_id);
    if (!upload) {
        return http::problem({ErrorCode::NotFound, "there is no such upload any more", **upload_id,
                              "send the file again"});
    }
    return take_upload(workspace, *upload, series_uid->value_or(""));
}

http::Response post_upload(Workspace& workspace, const http::Request& request) {
    const std::string name = request.query_value("name").value_or("");
    if (name.empty()) {
        return http::problem(
            {ErrorCode::BadInput, "is missing", "name", "give the name of the file in the query"});
    }
    const auto upload = workspace.uploads->take(request.body_file, name);
    if (!upload) return http::problem(upload.error());
    return take_upload(workspace, *upload, request.query_value("series_uid").value_or(""));
}

Result<BrickWish> wish_of(const http::Request& request) {
    BrickWish wish;
    const auto centre = request.query_value("centre"), half = request.query_value("half");
    if (centre.has_value() != half.has_value()) {
        return fail(ErrorCode::BadInput, "is given without its companion",
                    centre ? "centre" : "half", "give both centre and half, or neither");
    }
    if (centre) {
        const Result<Vec3> centre_P = parse_point(*centre, "centre"),
                           half_mm = parse_point(*half, "half");
        if (!centre_P) return tl::unexpected(centre_P.error());
        if (!half_mm) return tl::unexpected(half_mm.error());
        wish.centre_P = *centre_P;
        wish.half_mm = *half_mm;
    }
    if (const auto step = request.query_value("step")) {
        const auto [end, error] =
            std::from_chars(step->data(), step->data() + step->size(), wish.step);
        if (error != std::errc{} || end != step->data() + step->size()) {
            return fail(ErrorCode::BadInput, "'" + *step + "' is not a whole number", "step",
                        "give 1, 2, 3, ...");
        }
    }
    return wish;
}

http::Response get_brick(Workspace& workspace, const http::Request& request) {
    const Result<BrickWish> wish = wish_of(request);
    if (!wish) return http::problem(wish.error());
    const auto scan = workspace.scans->open(request.parameters.at("id"), *request.waiting);
    if (!scan) return http::problem(scan.error());
    Result<BrickBytes> brick = cut_brick((*scan)->volume, *wish);
    if (!brick) return http::problem(brick.error());
    http::Response response =
        http::respond(200, "application/octet-stream", std::move(brick->int16));
    response.set("X-Anfract-Grid", to_json(brick->geometry).dump());
    return response;
}

http::Response get_scan(Workspace& workspace, const http::Request& request) {
    const std::string& id = request.parameters.at("id");
    const auto record = workspace.scans->find(id);
    if (!record) return http::problem(record.error());
    Result<json> survey = workspace.scans->survey(id, *request.waiting);
    if (!survey) return http::problem(survey.error());
    json body = to_json(*record);
    body["survey"] = std::move(*survey);
    return json_response(200, body);
}

}  // namespace

void add_scan_routes(http::Router& router, Workspace& workspace) {
    router.add("GET", "/api/scans", [&workspace](http::Request&) {
        json list = json::array();
        for (const ScanRecord& record : workspace.scans->list()) list.push_back(to_json(record));
        return json_response(200, {{"scans", list}});
    });
    router.add(
        "POST", "/api/scans",
        [&workspace](http::Request& request) { return post_scan(workspace, request); },
        http::BodyRule::json());
    router.add(
        "POST", "/api/uploads",
        [&workspace](http::Request& request) { return post_upload(workspace, request); },
        http::BodyRule::file(workspace.directory->uploads(), workspace.options.upload_limit_bytes));
    router.add("GET", "/api/scans/{id}",
               [&workspace](http::Request& request) { return get_scan(workspace, request); });
    router.add("DELETE", "/api/scans/{id}", [&workspace](http::Request& request) {
        const auto removed = workspace.scans->remove(request.parameters.at("id"));
        return removed ? http::respond(204, "application/json", "")
                       : http::problem(removed.error());
    });
    router.add("GET", "/api/scans/{id}/brick",
               [&workspace](http::Request& request) { return get_brick(workspace, request); });
}

}  // namespace anfract::server
