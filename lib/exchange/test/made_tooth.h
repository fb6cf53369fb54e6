#pragma once

#include "anfract/tooth/tooth.h"

namespace anfract::test {

/// A straight canal of one width down the z axis, its orifice at z = 0.
inline Canal straight_canal(double length_mm, double diameter_mm,
                            const Vec3& orifice_P = {0, 0, 0}) {
    Canal canal;
    canal.name = "B";
    canal.orifice_P = orifice_P;
    canal.foramen_P = orifice_P - Vec3(0, 0, length_mm);
    canal.length_mm = length_mm;
    for (int k = 0; k <= 4 * length_mm; ++k) {
        CanalSample sample;
        sample.depth_mm = 8 + k / 4.0;
        sample.point_P = orifice_P - Vec3(0, 0, k / 4.0);
        sample.diameter_mm = diameter_mm;
        canal.samples.push_back(sample);
    }
    canal.depth_to_foramen_mm = canal.samples.back().depth_mm;
    return canal;
}

inline Tooth tooth_with(std::vector<Canal> canals) {
    Tooth tooth;
    tooth.fdi = "34";
    tooth.reference_P = {0, 0, 8};
    tooth.canals = std::move(canals);
    return tooth;
}

}  // namespace anfract::test
