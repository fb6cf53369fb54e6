#pragma once

#include <cmath>

#include "anfract/tooth/tooth.h"
#include "bent_tube.h"

namespace anfract::calculix {

/// The tube of a case as a canal, from depth 0.
inline Canal canal_of(const TubeCase& given) {
    Canal canal;
    canal.name = given.name;
    const BentTube tube(given, 1);
    const int steps = static_cast<int>(std::lround(given.tube_length_mm() / 0.1));
    for (int i = 0; i <= steps; ++i) {
        CanalSample sample;
        sample.depth_mm = given.tube_length_mm() * i / steps;
        const auto& p = tube.at(sample.depth_mm).point;
        sample.point_P = Vec3(p[0], p[1], p[2]);
        sample.diameter_mm = 2 * given.tube_radius_mm();
        canal.samples.push_back(sample);
    }
    return canal;
}

}  // namespace anfract::calculix
