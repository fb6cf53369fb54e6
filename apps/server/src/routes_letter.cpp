#include "anfract/http/problem.h"
#include "anfract/report/letter.h"
#include "workspace.h"

namespace anfract::server {
namespace {

/// The part of the scan that the letter's sections are cut from. Empty
/// when the scan is not there any more or was never here: the letter then draws its sections from
/// the tooth's model.
Brick brick_of(Workspace& workspace, const CaseWork& work) {
    if (work.record.scan.empty()) return {};
    const auto scan = workspace.scans->open(work.record.scan, workspace.stopping);
    if (!scan) return {};
    return brick_round((*scan)->volume, work.tooth);
}

http::Response get_letter(Workspace& workspace, const std::string& id) {
    const auto work = workspace.cases->find(id);
    if (!work) return http::problem(work.error());
    const auto measured = workspace.cases->measured_depths_mm(**work);
    if (!measured) return http::problem(measured.error());
    const auto plan = (*work)->plan(*workspace.tray->now(), *measured, workspace.stopping);
    if (!plan) return http::problem(plan.error());
    const Brick brick = brick_of(workspace, **work);
    const Letter letter = (*plan)->invented ? invented_letter() : Letter{};
    auto pdf = letter_pdf(**plan, letter, brick.grey.empty() ? nullptr : &brick);
    if (!pdf) return http::problem(pdf.error());
    http::Response response = http::respond(200, "application/pdf", std::move(*pdf));
    response.set("Content-Disposition", "inline; filename=\"letter.pdf\"");
    return response;
}

}  // namespace

void add_letter_routes(http::Router& router, Workspace& workspace) {
    router.add("GET", "/api/cases/{id}/letter.pdf", [&workspace](http::Request& request) {
        return get_letter(workspace, request.parameters.at("id"));
    });
}

}  // namespace anfract::server
