#pragma once

#include <gtest/gtest.h>

#include <algorithm>

#include "anfract/passage/lumen.h"
#include "rod.h"

namespace anfract::test {

/// A device held with its tip at a depth of a canal.
inline RodState held(const Canal& canal, const Device& device, double tip_mm,
                     const RodOptions& options) {
    const Lumen lumen = *lumen_of(canal, 0.05);
    const Guide guide(lumen);
    const Beam beam(device);
    RodState state = hold_rod(guide, beam, tip_mm, options);
    EXPECT_TRUE(state.converged);
    return state;
}

inline double peak(const RodState& state) {
    return *std::max_element(state.strain.begin(), state.strain.end());
}

}  // namespace anfract::test
