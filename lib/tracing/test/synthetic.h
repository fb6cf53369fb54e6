#pragma once

#include <cmath>
#include <functional>

#include "field.h"

namespace anfract::tracing::synthetic {

inline constexpr double dentine = 1600;
inline constexpr double pulp = 60;

inline GridGeometry grid(int nx, int ny, int nz, double voxel_mm) {
    GridGeometry g;
    g.size = {nx, ny, nz};
    g.spacing_mm = Vec3::Constant(voxel_mm);
    g.origin_P = Vec3(3, -40, 12);
    return g;
}

/// Dentine with whatever `inside` encloses as pulp: voxel shares by 5^3 sub-samples, then a
/// Gaussian blur.
inline Brick body_in_dentine(const GridGeometry& g, const std::function<bool(const Vec3&)>& inside,
                             double blur_sigma_mm) {
    Brick brick{g, std::vector<float>(g.voxel_count(), float(dentine))};
    constexpr int parts = 5;
    for (int k = 0; k < g.size[2]; ++k) {
        for (int j = 0; j < g.size[1]; ++j) {
            for (int i = 0; i < g.size[0]; ++i) {
                int hits = 0;
                for (int s = 0; s < parts * parts * parts; ++s) {
                    const Vec3 part(s % parts, s / parts % parts, s / (parts * parts));
                    const Vec3 at = Vec3(i, j, k) + (part - Vec3::Constant(2)) / parts;
                    hits += inside(g.to_patient(at));
                }
                brick.at(i, j, k) -= float((dentine - pulp) * hits / (parts * parts * parts));
            }
        }
    }
    return blur_sigma_mm > 0 ? smooth(brick, blur_sigma_mm, 1) : brick;
}

}  // namespace anfract::tracing::synthetic
