#include <nlohmann/json.hpp>

#include "anfract/http/problem.h"
#include "anfract/tracing/trace.h"
#include "request_json.h"
#include "trace_request_json.h"
#include "workspace.h"

namespace anfract::server {
namespace {

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
    const auto wanted = object_of(request).and_then(trace_request_of);
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
