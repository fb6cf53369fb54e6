#pragma once

#include <string>

#include "anfract/base/result.h"
#include "anfract/tooth/tooth.h"

namespace anfract {

/// What a schema cannot say: names are unique, branchings name canals of the tooth, depths rise and
/// agree with the points, numbers are finite. BadInput names the canal.
Result<void> check_tooth(const Tooth& tooth, const std::string& where);

/// Fills what a hand-made file may leave out: round sections, and curvature from the points.
void fill_in(Canal& canal);

/// Adds to the findings what does not forbid the use of the file but must not be passed over in
/// silence.
void note_doubts(Tooth& tooth);

}  // namespace anfract
