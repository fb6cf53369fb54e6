#pragma once

#include "anfract/passage/lumen.h"
#include "anfract/passage/passage.h"
#include "anfract/passage/rehearse.h"
#include "anfract/tray/device.h"

namespace anfract {

/// How far an instrument gets toward a depth by going in again and again.
struct Advance {
    Passage passage;  ///< the last, in a canal that ends at the depth
    int passes = 1;
    bool arrives = false;
};

/// Works an instrument toward `depth_mm`: while only width stops it, what stopped it is cut away
/// and it goes in again, at most `most_passes` times.
Result<Advance> advance_to(const Lumen& lumen, const Device& device, double depth_mm,
                           int most_passes, const RehearsalOptions& options);

/// True when the passage ends at the depth, within what the stations resolve: an instrument before
/// may have ended between two, and the canal is as cut only to the upper one.
bool arrives(const Passage& passage, const Lumen& lumen, double depth_mm);

/// True for instruments driven by a motor.
bool rotates(const Device& device);

}  // namespace anfract
