#pragma once

#include "anfract/base/result.h"
#include "anfract/passage/lumen.h"
#include "anfract/passage/rehearse.h"
#include "anfract/tray/device.h"

namespace anfract {

/// An instrument worked down: out and in again, cutting a little each time.
struct Advance {
    Passage passage;  ///< of the last pass, free, in a canal that ends at the depth aimed at
    Lumen lumen;      ///< the canal before the last pass, in full length
    int passes = 1;
    bool arrives = false;  ///< the last pass ends at the depth aimed at, within what stations tell
};

/// True when the passage ends at that depth, within what the stations of a lumen resolve.
bool arrives(const Passage& passage, const Lumen& lumen, double depth_mm);

/// Works `device` down to `depth_mm`: where it fills the canal it cuts, is withdrawn and goes in
/// again, up to `most_passes` times and while that gains depth (common practice, no source).
/// Errors: those of `rehearse`.
Result<Advance> advance_to(const Lumen& lumen, const Device& device, double depth_mm,
                           int most_passes, const RehearsalOptions& options);

/// True for files that a motor turns.
bool rotates(const Device& device);

}  // namespace anfract
