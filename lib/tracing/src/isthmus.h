#pragma once

#include <optional>

#include "anfract/geometry/vec.h"
#include "levels.h"
#include "section.h"

namespace anfract::tracing {

/// A sheet of pulp that runs from one canal toward another, as a section shows it.
struct Isthmus {
    double thickness_mm = 0;  ///< 0: none that stands out of the noise
    double sd_mm = 0;
    double from_mm = 0;  ///< from the section's middle, where the canal's own lumen ends
    Vec2 toward{1, 0};   ///< unit vector, along n1 and n2
};

/// Looks for one between the middle of a section and another canal at `other_mm` in its plane:
/// between the lumens it is the place where what is missing across the way, integrated, is least. A
/// sheet counts from three times the noise of that on. docs/methods/tracing.md, "Isthmuses".
Isthmus find_isthmus(const SectionImage& image, const SectionSetting& setting,
                     const Vec2& other_mm);

/// Half the side of a section that shows all that find_isthmus reads of it between canals
/// `apart_mm` from one another; nothing where it finds none at that distance.
std::optional<double> isthmus_view_mm(double apart_mm);

/// Fills the sheet with dentine as far as it lies outside the canal's own lumen, blur included.
void fill_isthmus(const Isthmus& isthmus, const SectionSetting& setting, SectionImage& image);

}  // namespace anfract::tracing
