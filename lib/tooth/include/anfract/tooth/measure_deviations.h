#pragma once

#include "anfract/tooth/measures.h"
#include "anfract/tooth/tooth.h"

namespace anfract {

/// States how sure the figures are: fills `sd` of the views and bends of every canal whose file
/// says how sure its centreline is (`point_sd_mm`, `point_correlation_mm`), and of no other.
///
/// The centreline is drawn again and again as it might as well have been found, with errors of the
/// stated size that hang together as stated, and each is measured like the first. The standard
/// deviation is the root mean square by which a figure then differs from that stated; of a radius
/// it is taken of 1/R, which has no infinity, and brought back by R^2. The worst view keeps its
/// turn. A bend that a drawn centreline does not show counts as no turn at all. Method and limits:
/// docs/methods/curvature.md. The same tooth gives the same figures.
/// @pre `measures` are those of `tooth`
void add_deviations(const Tooth& tooth, ToothMeasures& measures);

}  // namespace anfract
