#pragma once

#include <vector>

#include "canal_fit.h"

namespace anfract::tracing {

/// The place of a canal in a section, and how wide it was last thought.
struct OwnLumen {
    Station& station;
    double diameter_mm = 0;
};

/// Beside another canal the lines of both may be drawn toward one another, or into a sheet between
/// them: the lumens in a section are sought together, and the station and those of the others moved
/// each to its own; the others take the widths found. Nothing moves where that would part one lumen
/// in halves. docs/methods/tracing.md, "Beside one another".
///
/// @param inside  1 where a place belongs to the tooth and not to its rim, else 0
void tell_apart(const Brick& brick, const SectionSetting& setting, const Share& inside,
                const OwnLumen& own, std::vector<FittedSection>& others);

}  // namespace anfract::tracing
