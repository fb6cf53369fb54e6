#include "levels.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "anfract/base/parallel.h"
#include "anfract/scan/noise.h"
#include "anfract/scan/sharpness.h"

namespace anfract::tracing {
namespace {

constexpr double near_mm = 3.5;
constexpr double wide_mm = 9;

/// Grey values of the voxels within `radius_mm` of a point whose gradient is in the lower `share`.
std::vector<float> homogeneous_greys(const Brick& smoothed, const Vec3& centre_P, double radius_mm,
                                     double share) {
    const auto& g = smoothed.geometry;
    const Vec3 centre = g.to_voxel(centre_P);
    const Vec3 reach = Vec3::Constant(radius_mm).cwiseQuotient(g.spacing_mm);
    std::array<int, 3> low{};
    std::array<int, 3> high{};
    for (int axis = 0; axis < 3; ++axis) {
        const auto a = std::size_t(axis);
        low[a] = std::max(1, static_cast<int>(centre[axis] - reach[axis]));
        high[a] = std::min(g.size[a] - 2, static_cast<int>(centre[axis] + reach[axis]));
    }
    std::vector<float> greys;
    std::vector<float> slopes;
    for (int k = low[2]; k <= high[2]; ++k) {
        for (int j = low[1]; j <= high[1]; ++j) {
            for (int i = low[0]; i <= high[0]; ++i) {
                const Vec3 offset = (Vec3(i, j, k) - centre).cwiseProduct(g.spacing_mm);
                if (offset.squaredNorm() > radius_mm * radius_mm) continue;
                const float dx = smoothed.at(i + 1, j, k) - smoothed.at(i - 1, j, k);
                const float dy = smoothed.at(i, j + 1, k) - smoothed.at(i, j - 1, k);
                const float dz = smoothed.at(i, j, k + 1) - smoothed.at(i, j, k - 1);
                greys.push_back(smoothed.at(i, j, k));
                slopes.push_back(dx * dx + dy * dy + dz * dz);
            }
        }
    }
    std::vector<float> sorted = slopes;
    const auto limit = static_cast<float>(quantile(sorted, share));
    std::vector<float> kept;
    for (std::size_t n = 0; n < greys.size(); ++n) {
        if (slopes[n] <= limit) kept.push_back(greys[n]);
    }
    return kept;
}

constexpr int bins = 256;

struct Histogram {
    double low = 0;
    double width = 1;
    std::array<double, bins> count{};

    double centre(int bin) const { return low + (bin + 0.5) * width; }
};

Histogram histogram_of(std::vector<float> greys) {
    Histogram h;
    h.low = quantile(greys, 0.005);
    h.width = std::max((quantile(greys, 0.985) - h.low) / bins, 1e-6);
    for (const float grey : greys) {
        const int bin = static_cast<int>((grey - h.low) / h.width);
        if (bin >= 0 && bin < bins) h.count[std::size_t(bin)] += 1;
    }
    return h;
}

/// The bin that best splits the histogram in two classes: greatest variance between them
/// [Otsu1979].
int otsu_bin(const Histogram& h) {
    double total = 0, moment = 0;
    for (int b = 0; b < bins; ++b) {
        total += h.count[std::size_t(b)];
        moment += h.count[std::size_t(b)] * b;
    }
    double below = 0, below_moment = 0, best = -1;
    int split = bins / 2;
    for (int b = 0; b + 1 < bins; ++b) {
        below += h.count[std::size_t(b)];
        below_moment += h.count[std::size_t(b)] * b;
        const double above = total - below;
        if (below <= 0 || above <= 0) continue;
        const double gap = below_moment / below - (moment - below_moment) / above;
        const double between = below * above * gap * gap;
        if (between > best) {
            best = between;
            split = b;
        }
    }
    return split;
}

/// Counts smoothed with a Gaussian of `sd_grey`.
Histogram blunted(const Histogram& h, double sd_grey) {
    Histogram result = h;
    for (int b = 0; b < bins; ++b) {
        double sum = 0;
        for (int c = 0; c < bins; ++c) {
            const double z = (c - b) * h.width / sd_grey;
            if (std::abs(z) < 4) sum += h.count[std::size_t(c)] * std::exp(-z * z / 2);
        }
        result.count[std::size_t(b)] = sum;
    }
    return result;
}

int greatest_bin(const Histogram& h, int first, int last) {
    int best = first;
    for (int b = first; b < last; ++b) {
        if (h.count[std::size_t(b)] > h.count[std::size_t(best)]) best = b;
    }
    return best;
}

int bin_of(const Histogram& h, double grey) {
    return std::clamp(static_cast<int>((grey - h.low) / h.width), 0, bins - 1);
}

/// The peak of dentine in a blunted histogram: see read_levels.
double dentine_peak(const Histogram& h, double hard_from) {
    const int first = bin_of(h, hard_from);
    const int greatest = greatest_bin(h, first, bins);
    for (int b = first + 1; b < greatest; ++b) {
        const double here = h.count[std::size_t(b)];
        const bool peak = here > h.count[std::size_t(b - 1)] && here >= h.count[std::size_t(b + 1)];
        if (peak && here > 0.35 * h.count[std::size_t(greatest)]) return h.centre(b);
    }
    return h.centre(greatest);
}

/// The voxels within a cube of half size `half_mm` round a point.
Brick cut_round(const Brick& brick, const Vec3& centre_P, double half_mm) {
    const GridGeometry& g = brick.geometry;
    const Vec3 centre = g.to_voxel(centre_P);
    std::array<int, 3> low{};
    Brick cut{g, {}};
    for (int axis = 0; axis < 3; ++axis) {
        const auto a = std::size_t(axis);
        const int reach = static_cast<int>(half_mm / g.spacing_mm[axis]);
        const int middle = static_cast<int>(std::lround(centre[axis]));
        low[a] = std::clamp(middle - reach, 0, g.size[a] - 1);
        cut.geometry.size[a] = std::clamp(middle + reach, low[a], g.size[a] - 1) - low[a] + 1;
    }
    cut.geometry.origin_P = g.to_patient(Vec3(low[0], low[1], low[2]));
    cut.grey.reserve(cut.geometry.voxel_count());
    for (int k = 0; k < cut.geometry.size[2]; ++k) {
        for (int j = 0; j < cut.geometry.size[1]; ++j) {
            const auto row =
                brick.grey.begin() + std::ptrdiff_t(g.index(low[0], j + low[1], k + low[2]));
            cut.grey.insert(cut.grey.end(), row, row + cut.geometry.size[0]);
        }
    }
    return cut;
}

/// The bin of `wide` above which all is hard tissue. Otsu's split does that but where much air is
/// near, as round a thin crown: then it parts air from the rest, no air lies round the click yet
/// much of what a second split of the rest finds bright.
int hard_bin(const Histogram& wide, const std::vector<float>& round_click) {
    const int split = otsu_bin(wide);
    Histogram rest = wide;
    for (int b = 0; b <= split; ++b) rest.count[std::size_t(b)] = 0;
    const int second = otsu_bin(rest);
    double dark = 0, bright = 0;
    for (const float grey : round_click) {
        if (grey < wide.centre(split)) dark += 1;
        if (grey > wide.centre(second)) bright += 1;
    }
    const auto count = double(std::max<std::size_t>(round_click.size(), 1));
    constexpr double next_to_none = 0.02, much = 0.3;
    return dark < next_to_none * count && bright > much * count ? second : split;
}

/// The noise of eight cubes round the click, the median of those that have one: a filling whose
/// voxels all stand at the end of the scale has no noise, and must not speak for dentine. No
/// samples when none has any.
Noise median_noise(const Brick& brick, const Vec3& click_P, unsigned threads) {
    constexpr double half_mm = 2.75;
    std::array<Noise, 8> of_corner;
    parallel_for(of_corner.size(), threads, [&](std::size_t begin, std::size_t end) {
        for (auto corner = int(begin); corner < int(end); ++corner) {
            const Vec3 side(corner % 2 * 2 - 1, corner / 2 % 2 * 2 - 1, corner / 4 * 2 - 1);
            const Vec3 centre_P = click_P + half_mm * side;
            if (!brick.geometry.contains(centre_P)) continue;
            const Result<Noise> noise = estimate_noise(cut_round(brick, centre_P, half_mm), 1);
            if (noise) of_corner[std::size_t(corner)] = *noise;
        }
    });
    std::vector<Noise> found;
    std::copy_if(of_corner.begin(), of_corner.end(), std::back_inserter(found),
                 [](const Noise& noise) { return noise.samples > 0; });
    if (found.empty()) return {};
    const auto middle = found.begin() + std::ptrdiff_t(found.size() / 2);
    std::nth_element(found.begin(), middle, found.end(),
                     [](const Noise& a, const Noise& b) { return a.sd_grey < b.sd_grey; });
    return *middle;
}

/// Grey values round the click by how far they lie from it.
struct GreysRound {
    std::vector<float> click, inner, near;
    Histogram wide;
};

GreysRound greys_round(const Brick& brick, const Vec3& click_P, unsigned threads) {
    const Brick smoothed = smooth(brick, 0.9 * brick.geometry.spacing_mm.maxCoeff(), threads);
    return {homogeneous_greys(smoothed, click_P, 1.5, 0.8),
            homogeneous_greys(smoothed, click_P, 2.5, 1.0),
            homogeneous_greys(smoothed, click_P, near_mm, 0.6),
            histogram_of(homogeneous_greys(smoothed, click_P, wide_mm, 0.5))};
}

}  // namespace

Result<GreyLevels> read_levels(const Brick& brick, const Vec3& click_P, unsigned threads) {
    Result<Sharpness> sharpness;
    Noise noise;
    GreysRound greys;
    side_by_side(threads, {[&] { greys = greys_round(brick, click_P, threads); },
                           [&] { noise = median_noise(brick, click_P, threads); },
                           [&] {
                               const Brick core = cut_round(brick, click_P, 5.5);
                               sharpness = estimate_sharpness(core, threads);
                           }});
    if (greys.near.size() < 200) {
        return fail(ErrorCode::BadInput, "the point lies at the edge of the scan", "the point",
                    "give a point in the pulp chamber or the middle of the crown");
    }
    const Histogram& wide = greys.wide;
    const int split = hard_bin(wide, greys.click);

    GreyLevels levels;
    levels.noise = noise.samples > 0 ? noise.sd_grey : 0.02 * wide.width * bins;
    // White noise smoothed by a Gaussian of sigma c adds up over (2 sqrt(pi) c)^3.
    const double cell = 2 * std::sqrt(std::numbers::pi) * noise.correlation_mm;
    levels.noise_cell_mm3 = std::max(brick.geometry.spacing_mm.prod(), cell * cell * cell);
    levels.dentine = dentine_peak(
        blunted(histogram_of(greys.near), std::max(levels.noise, wide.width)), wide.centre(split));
    levels.pulp = quantile(greys.inner, 0.01);
    const Histogram soft = blunted(wide, std::max(1.2 * levels.noise, 2 * wide.width));
    const double soft_peak = wide.centre(greatest_bin(soft, split / 2, split + 1));
    if (levels.dentine - levels.pulp < 0.5 * (levels.dentine - soft_peak)) levels.pulp = soft_peak;
    if (levels.contrast() < 4 * levels.noise) {
        return fail(ErrorCode::BadInput, "no tooth is to be seen at the point", "the point",
                    "give a point in the pulp chamber or the middle of the crown");
    }
    const double fwhm_mm =
        sharpness ? sharpness->fwhm_mm : 2 * brick.geometry.spacing_mm.maxCoeff();
    levels.sigma_psf_mm = fwhm_mm / (2 * std::sqrt(2 * std::numbers::ln2));
    return levels;
}

}  // namespace anfract::tracing
