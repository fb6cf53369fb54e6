#include "anfract/phantom/scanner_faults.h"

#include <algorithm>
#include <cmath>

#include "anfract/base/parallel.h"
#include "anfract/phantom/projector.h"

namespace anfract {

namespace {

constexpr int half_turn_angles = 120;
constexpr float air = -1000, per_water = 1000;

/// Trilinear value at continuous voxel coordinates, the border repeated.
float value_at(const Brick& brick, const Vec3& v) {
    const auto& size = brick.geometry.size;
    std::array<int, 3> low{};
    std::array<double, 3> part{};
    for (std::size_t a = 0; a < 3; ++a) {
        const double c = std::clamp(v[int(a)], 0.0, double(size[a] - 1));
        low[a] = std::min(int(c), std::max(size[a] - 2, 0));
        part[a] = c - low[a];
    }
    double sum = 0;
    for (int corner = 0; corner < 8; ++corner) {
        double weight = 1;
        std::array<int, 3> at{};
        for (std::size_t a = 0; a < 3; ++a) {
            const int up = (corner >> a) & 1;
            weight *= up ? part[a] : 1 - part[a];
            at[a] = std::min(low[a] + up, size[a] - 1);
        }
        sum += weight * double(brick.grey[brick.geometry.index(at[0], at[1], at[2])]);
    }
    return float(sum);
}

}  // namespace

void add_movement(Brick& brick, const Vec3& shift_mm, double share, unsigned threads) {
    const Brick still = brick;
    const auto& size = brick.geometry.size;
    const Vec3 shift = brick.geometry.to_voxel(brick.geometry.to_patient(Vec3::Zero()) + shift_mm);
    parallel_for(std::size_t(size[2]), threads, [&](std::size_t begin, std::size_t end) {
        for (std::size_t k = begin; k < end; ++k) {
            for (int j = 0; j < size[1]; ++j) {
                for (int i = 0; i < size[0]; ++i) {
                    const std::size_t n = brick.geometry.index(i, j, int(k));
                    const float moved = value_at(still, Vec3(i, j, double(k)) - shift);
                    brick.grey[n] += float(share) * (moved - still.grey[n]);
                }
            }
        }
    });
}

void remove_arc(Brick& brick, double missing_deg, double from_deg, unsigned threads,
                const Progress& progress) {
    const int missing = int(std::lround(missing_deg / 180 * half_turn_angles));
    if (missing == 0) return;
    const int first = int(std::lround(from_deg / 180 * half_turn_angles));
    const auto& size = brick.geometry.size;
    const auto kept = float(half_turn_angles) / float(half_turn_angles - missing);
    parallel_for(std::size_t(size[2]), threads, [&](std::size_t begin, std::size_t end) {
        for (std::size_t k = begin; k < end && !progress.cancelled(); ++k) {
            Image slice(size[0], size[1], brick.geometry.spacing_mm.x());
            float* const grey = brick.grey.data() + brick.geometry.index(0, 0, int(k));
            for (std::size_t n = 0; n < slice.values.size(); ++n)
                slice.values[n] = (grey[n] - air) / per_water;
            Sinogram rays = project(slice, half_turn_angles);
            for (int angle = 0; angle < half_turn_angles; ++angle) {
                const int after = (angle - first + 2 * half_turn_angles) % half_turn_angles;
                if (after >= missing) std::fill_n(rays.row(angle), rays.bins, 0.0);
            }
            const Image lost = back_project(rays, size[0], size[1]);
            for (std::size_t n = 0; n < slice.values.size(); ++n)
                grey[n] = air + per_water * kept * (slice.values[n] - lost.values[n]);
        }
    });
}

Brick cut_field(const Brick& brick, const Vec3& centre_P, double edge_mm) {
    const GridGeometry& from = brick.geometry;
    const Vec3 middle = from.to_voxel(centre_P);
    Brick cut;
    cut.geometry = from;
    std::array<int, 3> low{};
    for (std::size_t a = 0; a < 3; ++a) {
        const double half = edge_mm / 2 / from.spacing_mm[int(a)];
        low[a] = std::clamp(int(std::floor(middle[int(a)] - half)), 0, from.size[a] - 1);
        const int high =
            std::clamp(int(std::ceil(middle[int(a)] + half)), low[a], from.size[a] - 1);
        cut.geometry.size[a] = high - low[a] + 1;
    }
    cut.geometry.origin_P = from.to_patient(Vec3(low[0], low[1], low[2]));
    for (int k = 0; k < cut.geometry.size[2]; ++k) {
        for (int j = 0; j < cut.geometry.size[1]; ++j) {
            const float* const row = brick.grey.data() + from.index(low[0], low[1] + j, low[2] + k);
            cut.grey.insert(cut.grey.end(), row, row + cut.geometry.size[0]);
        }
    }
    return cut;
}

}  // namespace anfract
