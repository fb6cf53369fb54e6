#pragma once

#include <optional>
#include <string>
#include <vector>

#include "anfract/base/result.h"

namespace anfract::record {

/// What a recall found.
struct Recall {
    double years = 0;  ///< since the treatment was completed
    std::optional<bool> symptoms, ligament_normal, resorption;
    std::string lesion;  ///< none, smaller, same, larger, new; empty: not known
};

/// The outcome by the quality guidelines of the ESE [ESE2006]: "favourable" (no symptoms, normal
/// ligament), "uncertain" (a lesion that is the same or smaller, before four years), "unfavourable"
/// (symptoms, a new or larger lesion, resorption, or a lesion after four years); "not known" when
/// what was found does not decide it.
std::string outcome_by_ese(const Recall& recall);

/// What a score of the periapical index means [Orstavik1986]. @pre 1 to 5
std::string periapical_index_text(int score);

/// Whole and part years from one date to another, "2026-01-31". Errors: BadInput for what is no
/// date.
Result<double> years_between(const std::string& from, const std::string& to);

/// The dates of the recalls that follow a treatment completed then: after one year, and yearly up
/// to four [ESE2006]. Errors: BadInput for what is no date.
Result<std::vector<std::string>> recall_dates(const std::string& completed);

}  // namespace anfract::record
