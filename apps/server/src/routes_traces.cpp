#include <nlohmann/json.hpp>

#include "anfract/http/problem.h"
#include "anfract/tooth/tooth_number.h"
#include "anfract/tracing/trace.h"
#include "request_json.h"
#include "workspace.h"

namespace anfract::server {
using nlohmann::json;

namespace {

Result<std::vector<HandCanal>> hand_canals_of(const json& body) {
    std::vector<HandCanal> canals;
    const auto found = body.find("canals");
    if (found == body.end() || found->is_null()) return canals;
    if (!found->is_array() || found->size() > 32) {
        return fail(ErrorCode::BadInput, "is not a list of canals", "canals",
                    "give at most 32 pairs of points");
    }
    for (const json& entry : *found) {
        const Result<Vec3> orifice = point_of(entry, "orifice_mm"), end = point_of(entry, "end_mm");
        if (!orifice) return tl::unexpected(orifice.error());
        if (!end) return tl::unexpected(end.error());
        canals.push_back({*orifice, *end});
    }
    return canals;
}

Result<TraceRequest> trace_request_of(const http::Request& request) {
    const Result<json> body = object_of(request);
    if (!body) return tl::unexpected(body.error());
    TraceRequest wanted;
    const Result<Vec3> inside = point_of(*body, "inside_mm");
    if (!inside) return tl::unexpected(inside.error());
    wanted.inside_P = *inside;
    const auto fdi = optional_text(*body, "fdi");
    if (!fdi) return tl::unexpected(fdi.error());
    wanted.fdi = fdi->value_or("");
    if (!wanted.fdi.empty()) {
        // Said now rather than by a job that fails later.
        if (const auto number = tooth_number_from_fdi(wanted.fdi); !number)
            return tl::unexpected(number.error());
    }
    if (body->contains("reference_mm") && !body->at("reference_mm").is_null()) {
        const Result<Vec3> reference = point_of(*body, "reference_mm");
        if (!reference) return tl::unexpected(reference.error());
        wanted.reference_P = *reference;
    }
    auto canals = hand_canals_of(*body);
    if (!canals) return tl::unexpected(canals.error());
    wanted.by_hand = std::move(*canals);
    return wanted;
}

/// Reads the scan if it is not in memory, traces, and stores the tooth as a case.
Result<std::string> trace_to_case(Workspace& workspace, const ScanRecord& scan,
                                  const TraceRequest& wanted, const std::string& author,
                                  const Progress& progress) {
    const auto opened = workspace.scans->open(scan.id, progress);
    if (!opened) return tl::unexpected(opened.error());
    Result<Tooth> tooth = trace((*opened)->volume, wanted, progress);
    if (!tooth) return tl::unexpected(tooth.error());
    if (progress.cancelled()) return fail(ErrorCode::Cancelled, "stopped before the end");
    tooth->invented = tooth->invented || scan.invented;
    const auto stored = workspace.cases->add(*tooth, scan.id, scan.label, author);
    if (!stored) return tl::unexpected(stored.error());
    if (const auto kept = workspace.corrections->remember(stored->id, wanted, author); !kept)
        return tl::unexpected(kept.error());
    return stored->id;
}

http::Response post_trace(Workspace& workspace, const http::Request& request) {
    const auto scan = workspace.scans->find(request.parameters.at("id"));
    if (!scan) return http::problem(scan.error());
    const auto wanted = trace_request_of(request);
    if (!wanted) return http::problem(wanted.error());
    if (!scan->geometry.contains(wanted->inside_P)) {
        return http::problem({ErrorCode::BadInput, "the point lies outside the scan", "inside_mm",
                              "click in the tooth"});
    }
    return job_response(workspace.jobs->submit([&workspace, scan = *scan, wanted = *wanted,
                                                author = request.user](const Progress& progress) {
        return trace_to_case(workspace, scan, wanted, author, progress);
    }));
}

}  // namespace

void add_trace_routes(http::Router& router, Workspace& workspace) {
    router.add(
        "POST", "/api/scans/{id}/traces",
        [&workspace](http::Request& request) { return post_trace(workspace, request); },
        http::BodyRule::json());
}

}  // namespace anfract::server
