#include "brick_bytes.h"

#include <algorithm>
#include <bit>
#include <cmath>

#include "anfract/base/parallel.h"

namespace anfract::server {
namespace {

static_assert(std::endian::native == std::endian::little, "the page reads little-endian numbers");

std::int16_t to_int16(double grey) {
    return static_cast<std::int16_t>(std::lround(std::clamp(grey, -32768.0, 32767.0)));
}

/// The grid of the block means, for blocks of `step` voxels from the first one on.
GridGeometry coarse_grid(const GridGeometry& fine, int step) {
    GridGeometry coarse = fine;
    Vec3 first_centre_I(0, 0, 0);
    for (std::size_t a = 0; a < 3; ++a) {
        coarse.size[a] = std::max(1, fine.size[a] / step);
        coarse.spacing_mm[int(a)] = fine.spacing_mm[int(a)] * step;
        first_centre_I[int(a)] = (std::min(step, fine.size[a]) - 1) / 2.0;
    }
    coarse.origin_P = fine.to_patient(first_centre_I);
    return coarse;
}

/// `grey(index)` is called with indices into the fine grid.
template <class Grey>
BrickBytes average(const GridGeometry& fine, int step, const Grey& grey) {
    BrickBytes brick{coarse_grid(fine, step), {}};
    const auto [ni, nj, nk] = brick.geometry.size;
    brick.int16.resize(brick.geometry.voxel_count() * sizeof(std::int16_t));
    auto* const out = reinterpret_cast<std::int16_t*>(brick.int16.data());
    const std::array<int, 3> block{std::min(step, fine.size[0]), std::min(step, fine.size[1]),
                                   std::min(step, fine.size[2])};
    const double weight = 1.0 / (double(block[0]) * block[1] * block[2]);
    parallel_for(
        static_cast<std::size_t>(nk), 0, [&, ni = ni, nj = nj](std::size_t begin, std::size_t end) {
            for (std::size_t k = begin; k < end; ++k) {
                for (int j = 0; j < nj; ++j) {
                    for (int i = 0; i < ni; ++i) {
                        double sum = 0;
                        for (int c = 0; c < block[2]; ++c) {
                            for (int b = 0; b < block[1]; ++b) {
                                const std::size_t row = fine.index(i * step, j * step + b,
                                                                   static_cast<int>(k) * step + c);
                                for (int a = 0; a < block[0]; ++a)
                                    sum += grey(row + std::size_t(a));
                            }
                        }
                        out[brick.geometry.index(i, j, static_cast<int>(k))] =
                            to_int16(sum * weight);
                    }
                }
            }
        });
    return brick;
}

}  // namespace

Result<BrickBytes> cut_brick(const Volume& volume, const BrickWish& wish) {
    if (wish.step < 1 || wish.step > 64) {
        return fail(ErrorCode::BadInput, "is not from 1 to 64", "step",
                    "give how many voxels make one");
    }
    if (!wish.centre_P) {
        return average(volume.geometry, wish.step, [&](std::size_t at) {
            return volume.slope * volume.voxels[at] + volume.intercept;
        });
    }
    const Brick part = crop(volume, *wish.centre_P, wish.half_mm);
    if (part.grey.empty()) {
        return fail(ErrorCode::BadInput, "the box lies outside the scan", "centre",
                    "give a point in the scan");
    }
    return average(part.geometry, wish.step, [&](std::size_t at) { return double(part.grey[at]); });
}

}  // namespace anfract::server
