#include "planned_case.h"

#include <map>

#include "anfract/server/given_letter.h"

namespace anfract::server {
using nlohmann::json;

std::string PlannedCase::note(const std::string& part, const std::string& key) const {
    return text_in(notes, part, key);
}

Result<PlannedCase> planned_case(const Workspace& workspace, const std::string& id,
                                 const Progress& progress) {
    const auto work = workspace.cases->find(id);
    if (!work) return tl::unexpected(work.error());
    const auto measured = workspace.cases->measured_depths_mm(**work);
    if (!measured) return tl::unexpected(measured.error());
    const auto tray = workspace.tray->now();
    if (!tray) return tl::unexpected(tray.error());
    const auto plan = (*work)->plan(**tray, *measured, progress);
    if (!plan) return tl::unexpected(plan.error());
    const auto notes = workspace.record->notes().find(id);
    if (!notes) return tl::unexpected(notes.error());
    return PlannedCase{*work, *plan, notes->notes};
}

Letter letter_for(const Workspace& workspace, const json& notes, bool invented,
                  const std::string& language) {
    return addressed_letter(workspace.letterhead ? *workspace.letterhead
                            : invented           ? invented_letter()
                                                 : Letter{},
                            notes, language);
}

Brick brick_of(const Workspace& workspace, const CaseWork& work, const Progress& progress) {
    if (work.record.scan.empty()) return {};
    const auto scan = workspace.scans->open(work.record.scan, progress);
    if (!scan) return {};
    return brick_round((*scan)->volume, work.tooth);
}

Result<std::string> letter_bytes(const Workspace& workspace, const PlannedCase& planned,
                                 LetterForm form, const Progress& progress) {
    const Brick brick = brick_of(workspace, *planned.work, progress);
    if (progress.cancelled()) return fail(ErrorCode::Cancelled, "stopped before the end");
    const Brick* const grey = brick.grey.empty() ? nullptr : &brick;
    const Letter letter = letter_for(workspace, planned.notes, planned.plan->invented, "en");
    return form == LetterForm::Pdf ? letter_pdf(*planned.plan, letter, grey)
                                   : letter_html(*planned.plan, letter, grey);
}

http::Response download(std::string bytes, const std::string& kind, const std::string& case_id,
                        const std::string& ending) {
    // Types as registered with IANA.
    static const std::map<std::string, std::string> types{{"pdf", "application/pdf"},
                                                          {"html", "text/html; charset=utf-8"},
                                                          {"json", "application/fhir+json"},
                                                          {"zip", "application/zip"},
                                                          {"stl", "model/stl"},
                                                          {"3mf", "model/3mf"}};
    http::Response response = http::respond(200, types.at(ending), std::move(bytes));
    std::string name = "anfract-";
    name += kind;
    name += "-";
    name += case_id;
    name += ".";
    name += ending;
    response.set("Content-Disposition", "attachment; filename=\"" + name + "\"");
    return response;
}

}  // namespace anfract::server
