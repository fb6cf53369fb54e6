#pragma once

#include <vector>

#include "section.h"

namespace anfract::tracing {

/// A round blurred tube in the plane of a section: a Gaussian of its area.
struct BlurredTube {
    Vec2 centre_mm{0, 0};
    double area_mm2 = 0;
    double variance_mm2 = 0;  ///< across, blur included

    double density(const Vec2& p_mm) const;
};

/// What a tube has of what is missing of a section.
struct TubeShare {
    double area_mm2 = 0;
    Vec2 centroid_mm{0, 0};  ///< none where the area is not above 0
};

/// What is missing of a section, shared out among tubes by their densities: the expectation of
/// [Dempster1977]. Pixels whose share is 0 are left out.
std::vector<TubeShare> shared_out(const SectionImage& image, double dentine_grey, double contrast,
                                  const std::vector<BlurredTube>& tubes);

/// Moves tubes that run beside one another to where they explain best, together, what is missing of
/// a section: expectation and maximisation [Dempster1977], from the places and areas given; their
/// variance follows from their area.
void separate(const SectionImage& image, const SectionSetting& setting,
              std::vector<BlurredTube>& tubes);

}  // namespace anfract::tracing
