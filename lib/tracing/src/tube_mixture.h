#pragma once

#include <vector>

#include "section.h"

namespace anfract::tracing {

/// A round blurred tube in the plane of a section: a Gaussian of its area.
struct BlurredTube {
    Vec2 centre_mm{0, 0};
    double area_mm2 = 0;
};

/// Moves tubes that run beside one another to where they explain best, together, what is missing of
/// a section: expectation and maximisation [Dempster1977], from the places and areas given. Pixels
/// whose share is 0 are left out.
void separate(const SectionImage& image, const SectionSetting& setting,
              std::vector<BlurredTube>& tubes);

}  // namespace anfract::tracing
