#pragma once

#include <map>
#include <string>

#include "anfract/base/progress.h"
#include "anfract/base/result.h"
#include "anfract/plan/plan.h"

namespace anfract {

/// The tooth without words that somebody may have written: findings go, the scan is named
/// `series_uid`, and a canal that is not called by the sides of its root ("MB2") is counted ("C1").
Tooth pseudonymous_tooth(Tooth tooth, const std::string& series_uid);

/// What devices are called instead, by id: those of the generic tray as there, the others of `tray`
/// counted ("device-1"), since a practice names its own as it likes.
std::map<std::string, std::string> pseudonymous_devices(const Tray& tray);

/// The plan made anew with such a tooth and such a tray, so that each of its sentences is the
/// program's; the depths measured at the chair are those of `plan`. Errors: those of make_plan.
Result<Plan> pseudonymous_plan(const Plan& plan, const std::string& series_uid,
                               const Progress& progress);

}  // namespace anfract
