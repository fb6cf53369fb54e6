#pragma once

#include <string>
#include <vector>

#include "anfract/base/result.h"
#include "anfract/plan/plan.h"
#include "anfract/scan/volume.h"

namespace anfract {

/// A picture of a plan as pixels.
struct KeyPicture {
    std::string name;   ///< "ruler", "section-buccal", "section-mesial"
    std::string title;  ///< at most 64 letters
    int width_px = 0, height_px = 0;
    std::string rgb;  ///< 3 bytes a pixel, row by row
};

/// The depth ruler and the two sections of a plan, the sections from the scan when there is one.
/// Errors: BadInput when the plan has no canal.
Result<std::vector<KeyPicture>> key_pictures(const Plan& plan, const Brick* scan = nullptr);

}  // namespace anfract
