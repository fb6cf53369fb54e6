#pragma once

#include "anfract/base/progress.h"
#include "anfract/scan/volume.h"

namespace anfract {

/// A patient who moved once: the image is the mean, weighted by time, of the head before and after.
/// Edges double. `share` of the time the head stood `shift_mm` away.
void add_movement(Brick& brick, const Vec3& shift_mm, double share, unsigned threads);

/// A rotation that lacks `missing_deg` of the half turn a slice needs (parallel beam, slices of i
/// and j): edges along the missing rays fade and draw streaks. The rest is scaled up to keep the
/// mean. Values are grey on a scale on which air is -1000.
///
/// @pre 0 <= missing_deg < 90
void remove_arc(Brick& brick, double missing_deg, double from_deg, unsigned threads,
                const Progress& progress);

/// The part of a grid within a cube of `edge_mm` about `centre_P`: a small field of view.
Brick cut_field(const Brick& brick, const Vec3& centre_P, double edge_mm);

}  // namespace anfract
