#include "anfract/scan/volume.h"

#include <algorithm>
#include <cmath>

namespace anfract {

Brick crop(const Volume& volume, const Vec3& centre_P, const Vec3& half_mm) {
    const GridGeometry& whole = volume.geometry;
    // The box along the patient axes, turned into the voxel frame: its extent along voxel axis a is
    // the sum of the projections of its three half edges.
    const Vec3 centre_I = whole.to_voxel(centre_P);
    const Vec3 reach_I = (whole.direction.transpose().cwiseAbs() * half_mm.cwiseAbs())
                             .cwiseQuotient(whole.spacing_mm);
    std::array<int, 3> first{};
    Brick brick;
    brick.geometry = whole;
    brick.geometry.size = {0, 0, 0};
    if (!centre_I.allFinite() || !reach_I.allFinite()) return brick;
    std::array<int, 3> size{};
    for (std::size_t a = 0; a < 3; ++a) {
        // The tolerance keeps voxels that lie on the face of the box in spite of rounding.
        const double low = std::max(0.0, std::ceil(centre_I[int(a)] - reach_I[int(a)] - 1e-6));
        const double high =
            std::min(whole.size[a] - 1.0, std::floor(centre_I[int(a)] + reach_I[int(a)] + 1e-6));
        if (low > high) return brick;
        first[a] = static_cast<int>(low);
        size[a] = static_cast<int>(high) - first[a] + 1;
    }
    brick.geometry.size = size;
    brick.geometry.origin_P = whole.to_patient(Vec3(first[0], first[1], first[2]));
    brick.grey.resize(brick.geometry.voxel_count());
    const auto slope = static_cast<float>(volume.slope);
    const auto intercept = static_cast<float>(volume.intercept);
    std::size_t at = 0;
    for (int k = 0; k < size[2]; ++k) {
        for (int j = 0; j < size[1]; ++j) {
            const std::int16_t* row =
                &volume.voxels[whole.index(first[0], first[1] + j, first[2] + k)];
            for (int i = 0; i < size[0]; ++i) brick.grey[at++] = slope * row[i] + intercept;
        }
    }
    return brick;
}

float interpolate(const Brick& brick, const Vec3& voxel_I) {
    const std::array<int, 3>& size = brick.geometry.size;
    std::array<int, 3> low;
    std::array<std::size_t, 3> up;  // to the next voxel in memory, none at the border
    std::array<float, 3> part;
    std::size_t stride = 1;
    for (std::size_t a = 0; a < 3; ++a) {
        const int last = size[a] - 1;
        const double clamped = std::clamp(voxel_I[int(a)], 0.0, static_cast<double>(last));
        low[a] = static_cast<int>(clamped);
        up[a] = low[a] < last ? stride : 0;
        part[a] = static_cast<float>(clamped - low[a]);
        stride *= std::size_t(size[a]);
    }
    const float* const corner = &brick.grey[brick.geometry.index(low[0], low[1], low[2])];
    const auto along_i = [&](std::size_t at) {
        return corner[at] + part[0] * (corner[at + up[0]] - corner[at]);
    };
    const auto in_slice = [&](std::size_t at) {
        const float near = along_i(at);
        return near + part[1] * (along_i(at + up[1]) - near);
    };
    const float near = in_slice(0);
    return near + part[2] * (in_slice(up[2]) - near);
}

}  // namespace anfract
