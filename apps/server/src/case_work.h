#pragma once

#include <cstdint>
#include <map>
#include <memory>
#include <mutex>
#include <nlohmann/json.hpp>
#include <string>

#include "anfract/base/progress.h"
#include "anfract/base/result.h"
#include "anfract/passage/lumen.h"
#include "anfract/plan/plan.h"
#include "anfract/record/case_book.h"
#include "anfract/tooth/tooth.h"
#include "tray_shelf.h"

namespace anfract::server {

using CaseRecord = record::CaseEntry;

nlohmann::json to_json(const CaseRecord& record);

/// Something that is computed once for each state of what it depends on. Who asks while it is being
/// computed waits.
template <class T>
class Remembered {
  public:
    template <class Make>
    Result<std::shared_ptr<const T>> get(const std::string& state, const Make& make) {
        const std::lock_guard lock(mutex_);
        if (value_ && state_ == state) return value_;
        Result<T> made = make();
        if (!made) return tl::unexpected(made.error());
        state_ = state;
        value_ = std::make_shared<const T>(std::move(*made));
        return value_;
    }

  private:
    std::mutex mutex_;
    std::string state_;
    std::shared_ptr<const T> value_;
};

/// Depths in mm from the reference point, by canal.
using MeasuredDepths = std::map<std::string, double>;

/// An open case: its tooth, and what was computed from it so far. All members may be called from
/// any thread.
class CaseWork {
  public:
    CaseWork(CaseRecord case_record, std::int64_t version, Tooth traced,
             nlohmann::json tooth_document)
        : record(std::move(case_record)),
          tooth_version(version),
          tooth(std::move(traced)),
          document(std::move(tooth_document)) {}

    const CaseRecord record;
    const std::int64_t tooth_version;  ///< of the tooth below
    const Tooth tooth;
    const nlohmann::json document;  ///< the anfract.tooth document

    /// The passage of one canal. Errors: NotFound, BadInput.
    Result<std::shared_ptr<const Lumen>> lumen(const std::string& canal);

    /// The anfract.measures document as text.
    Result<std::shared_ptr<const std::string>> measures();

    /// The anfract.passages document as text: every device of the tray in every canal, without
    /// profiles. What does not converge is left out and named under `left_out`.
    /// @param progress  cancels it
    Result<std::shared_ptr<const std::string>> passages(const TrayNow& tray,
                                                        const Progress& progress);

    /// The working plan with that tray and the working depths measured at the chair, by canal.
    /// @param progress  cancels it
    Result<std::shared_ptr<const Plan>> plan(const TrayNow& tray, const MeasuredDepths& measured,
                                             const Progress& progress);

    /// The same as the text of its anfract.plan document.
    Result<std::shared_ptr<const std::string>> plan_document(const TrayNow& tray,
                                                             const MeasuredDepths& measured,
                                                             const Progress& progress);

  private:
    std::mutex lumen_mutex_;
    std::map<std::string, std::shared_ptr<const Lumen>> lumens_;
    Remembered<std::string> measures_, passages_, plan_document_;
    Remembered<Plan> plan_;
};

}  // namespace anfract::server
