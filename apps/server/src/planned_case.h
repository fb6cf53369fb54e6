#pragma once

#include <memory>
#include <nlohmann/json.hpp>
#include <string>

#include "anfract/http/message.h"
#include "anfract/plan/plan.h"
#include "anfract/report/document.h"
#include "case_work.h"
#include "workspace.h"

namespace anfract::server {

/// A case with its plan and what is written down of it: what papers and objects are made from.
struct PlannedCase {
    std::shared_ptr<CaseWork> work;
    std::shared_ptr<const Plan> plan;
    nlohmann::json notes;  ///< anfract.case, or an empty object

    const std::string& id() const { return work->record.id; }
    /// A text of the notes such as "patient", "name"; empty when it was not written down.
    std::string note(const std::string& part, const std::string& key) const;
};

/// The case with the plan as it is now. Errors: those of the record and of make_plan.
Result<PlannedCase> planned_case(const Workspace& workspace, const std::string& id,
                                 const Progress& progress);

/// The practice's letterhead with patient, referrer and date of a case.
Letter letter_for(const Workspace& workspace, const nlohmann::json& notes, bool invented,
                  const std::string& language);

/// The part of the scan that sections are cut from. Empty when the scan is not there any more or
/// was never here: sections are then drawn from the tooth's model.
Brick brick_of(const Workspace& workspace, const CaseWork& work, const Progress& progress);

/// The plan's letter. Errors: those of letter_pdf.
Result<std::string> letter_bytes(const Workspace& workspace, const PlannedCase& planned,
                                 LetterForm form, const Progress& progress);

/// An answer that a browser keeps as a file. Its name says what it is and of which case, by the
/// case's number: names of files end up in lists that others see, and must not name the patient.
/// @param kind  such as "letter"  @param ending  such as "pdf", which tells the media type
http::Response download(std::string bytes, const std::string& kind, const std::string& case_id,
                        const std::string& ending);

}  // namespace anfract::server
