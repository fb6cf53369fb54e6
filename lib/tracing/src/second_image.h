#pragma once

#include <string>
#include <vector>

#include "anfract/tooth/tooth.h"

namespace anfract::tracing {

/// A canal that may be the second image of another, told by their names.
struct SecondImage {
    std::string canal, of;
};

/// Canals that lie beside one found before them by the shift between the two images of a scan that
/// stands double, either way round, within 0.3 mm along at least 0.45 of what is their own. Their
/// presence is lowered to at most 0.4. One that was drawn by hand, which has no presence, is let
/// be. Calibrated on phantoms: docs/methods/tracing.md, "Movement".
std::vector<SecondImage> doubt_second_images(const Vec3& shift_P, Tooth& tooth);

}  // namespace anfract::tracing
