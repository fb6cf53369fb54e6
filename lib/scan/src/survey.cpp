#include "anfract/scan/survey.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "anfract/scan/detection.h"
#include "anfract/scan/movement.h"
#include "smoothing.h"

namespace anfract {
namespace {

constexpr int cube_voxels = 80;
constexpr std::size_t most_cubes = 6;
constexpr double index_to_be_seen = 5;  // [Rose1948]

std::string rounded(double value, const char* format = "%.2f") {
    char text[48];
    std::snprintf(text, sizeof text, format, value);
    return text;
}

double median(std::vector<double> values) {
    std::nth_element(values.begin(), values.begin() + std::ptrdiff_t(values.size() / 2),
                     values.end());
    return values[values.size() / 2];
}

/// The voxels [first, first + size) of a scan in grey values, every `step`-th along each axis.
Brick cut(const Volume& volume, std::array<int, 3> first, std::array<int, 3> size, int step) {
    Brick brick;
    brick.geometry = volume.geometry;
    brick.geometry.origin_P = volume.geometry.to_patient(Vec3(first[0], first[1], first[2]));
    brick.geometry.spacing_mm *= step;
    for (std::size_t a = 0; a < 3; ++a) {
        size[a] = std::min(size[a], volume.geometry.size[a] - first[a]);
        brick.geometry.size[a] = (size[a] + step - 1) / step;
    }
    brick.grey.reserve(brick.geometry.voxel_count());
    for (int k = 0; k < size[2]; k += step) {
        for (int j = 0; j < size[1]; j += step) {
            for (int i = 0; i < size[0]; i += step) {
                brick.grey.push_back(float(volume.grey(first[0] + i, first[1] + j, first[2] + k)));
            }
        }
    }
    return brick;
}

void measure_grey_range(const Volume& volume, Survey& result) {
    const auto [least, most] = std::minmax_element(volume.voxels.begin(), volume.voxels.end());
    const auto grey = [&](double stored) { return volume.slope * stored + volume.intercept; };
    result.lowest_grey = std::min(grey(*least), grey(*most));
    result.highest_grey = std::max(grey(*least), grey(*most));
    std::vector<std::int16_t> sample;
    const std::size_t step = std::max<std::size_t>(1, volume.voxels.size() / 500000);
    for (std::size_t n = 0; n < volume.voxels.size(); n += step) sample.push_back(volume.voxels[n]);
    std::sort(sample.begin(), sample.end());
    const auto quantile = [&](double q) {
        return grey(sample[std::size_t(q * double(sample.size() - 1))]);
    };
    result.low_grey = std::min(quantile(0.001), quantile(0.999));
    result.high_grey = std::max(quantile(0.001), quantile(0.999));
}

/// The cubes of the scan that hold the most voxels of the brightest tissue: teeth rather than bone,
/// whose fine structure would pass for noise and blur.
std::vector<std::array<int, 3>> bright_cubes(const Volume& volume) {
    const GridGeometry& g = volume.geometry;
    std::vector<std::pair<double, std::array<int, 3>>> cubes;
    std::vector<float> sample;
    const std::size_t step = std::max<std::size_t>(1, volume.voxels.size() / 200000);
    for (std::size_t n = 0; n < volume.voxels.size(); n += step) {
        sample.push_back(float(volume.slope * volume.voxels[n] + volume.intercept));
    }
    // Once for tooth and bone against the rest, and once more among those.
    const double bone = otsu(sample).threshold;
    std::erase_if(sample, [&](float v) { return v <= bone; });
    const double threshold = otsu(sample).threshold;
    for (int k = 0; k < g.size[2]; k += cube_voxels) {
        for (int j = 0; j < g.size[1]; j += cube_voxels) {
            for (int i = 0; i < g.size[0]; i += cube_voxels) {
                std::size_t bright = 0;
                for (int z = k; z < std::min(k + cube_voxels, g.size[2]); z += 4) {
                    for (int y = j; y < std::min(j + cube_voxels, g.size[1]); y += 4) {
                        for (int x = i; x < std::min(i + cube_voxels, g.size[0]); x += 4) {
                            bright += volume.grey(x, y, z) > threshold;
                        }
                    }
                }
                if (bright > 0) cubes.push_back({double(bright), {i, j, k}});
            }
        }
    }
    std::sort(cubes.rbegin(), cubes.rend());
    std::vector<std::array<int, 3>> chosen;
    for (std::size_t n = 0; n < std::min(most_cubes, cubes.size()); ++n)
        chosen.push_back(cubes[n].second);
    return chosen;
}

/// The shift that most of the cubes agree on; see Survey.
std::optional<double> agreed_shift_mm(const std::vector<Movement>& movements) {
    constexpr double alike_mm = 0.35;
    constexpr std::ptrdiff_t fewest = 2;
    for (const Movement& one : movements) {
        const auto alike =
            std::count_if(movements.begin(), movements.end(), [&](const Movement& other) {
                const double apart_mm = std::min((one.shift_P - other.shift_P).norm(),
                                                 (one.shift_P + other.shift_P).norm());
                return other.stands_double() && apart_mm < alike_mm;
            });
        if (one.stands_double() && alike >= fewest && 2 * alike >= std::ssize(movements))
            return one.shift_P.norm();
    }
    return std::nullopt;
}

/// Noise and sharpness as the medians over the cubes where they can be measured.
Result<void> measure_quality(const Volume& volume, const Progress& progress, Survey& result) {
    const std::vector<std::array<int, 3>> cubes = bright_cubes(volume);
    std::vector<double> sd;
    std::vector<double> correlation;
    std::vector<double> fwhm;
    std::vector<double> fwhm_sd;
    std::vector<double> contrast;
    std::vector<Movement> movements;
    std::size_t samples = 0;
    std::size_t edges = 0;
    for (std::size_t n = 0; n < cubes.size(); ++n) {
        if (progress.cancelled()) return fail(ErrorCode::Cancelled, "the survey was stopped");
        progress.report(0.2 + 0.7 * double(n) / double(cubes.size()),
                        "measuring noise and sharpness");
        // An overlap of a few voxels makes up for the margins the estimators leave.
        std::array<int, 3> first = cubes[n];
        for (int& f : first) f = std::max(0, f - 8);
        const Brick brick =
            cut(volume, first, {cube_voxels + 16, cube_voxels + 16, cube_voxels + 16}, 1);
        if (const auto noise = estimate_noise(brick)) {
            sd.push_back(noise->sd_grey);
            correlation.push_back(noise->correlation_mm);
            samples += noise->samples;
        }
        if (const auto sharpness = estimate_sharpness(brick)) {
            fwhm.push_back(sharpness->fwhm_mm);
            fwhm_sd.push_back(sharpness->fwhm_sd_mm);
            contrast.push_back(sharpness->contrast_grey);
            edges += sharpness->edges;
        }
        if (const auto movement = find_movement(brick)) movements.push_back(*movement);
    }
    if (!sd.empty()) result.noise = Noise{median(sd), median(correlation), samples};
    if (!fwhm.empty())
        result.sharpness = Sharpness{median(fwhm), median(fwhm_sd), median(contrast), edges};
    result.double_edges_mm = agreed_shift_mm(movements);
    return {};
}

const TissueLevel* level_named(const std::vector<TissueLevel>& levels, const std::string& name) {
    const auto found = std::find_if(levels.begin(), levels.end(),
                                    [&](const TissueLevel& l) { return l.name == name; });
    return found == levels.end() ? nullptr : &*found;
}

/// What canals can be seen, from contrast, noise and blur.
void judge_canals(const GridGeometry& geometry, Survey& result) {
    // The names can be trusted on a scale like that of Hounsfield, which the level of air shows;
    // otherwise the height of the edges, mostly tooth against soft tissue, has to do.
    const TissueLevel* air = level_named(result.tissues, "air");
    const TissueLevel* soft = level_named(result.tissues, "soft tissue");
    const TissueLevel* dentine = level_named(result.tissues, "dentine or cortical bone");
    if (air != nullptr && soft != nullptr && dentine != nullptr &&
        std::abs(air->grey + 1000) < 200) {
        result.canal_contrast_grey = dentine->grey - soft->grey;
    } else if (result.sharpness) {
        result.canal_contrast_grey = result.sharpness->contrast_grey;
    }
    const double two_voxels_mm = 2 * geometry.spacing_mm.maxCoeff();
    result.half_maximum_limit_mm = two_voxels_mm;
    if (result.sharpness) {
        result.half_maximum_limit_mm = std::max(two_voxels_mm, result.sharpness->fwhm_mm);
    }
    if (!result.noise || !result.sharpness || result.canal_contrast_grey <= 0 ||
        result.noise->sd_grey <= 0) {
        return;
    }
    const DetectionSetting setting{result.canal_contrast_grey, result.noise->sd_grey,
                                   result.noise->correlation_mm, result.sharpness->fwhm_mm,
                                   geometry.spacing_mm};
    for (const double length_mm : {1.0, 3.0}) {
        result.visible.push_back(
            {length_mm, detectable_diameter_mm(setting, length_mm, index_to_be_seen)});
    }
}

void write_verdict(const GridGeometry& geometry, Survey& result) {
    std::vector<std::string>& verdict = result.verdict;
    if (result.visible.empty()) {
        verdict.push_back(
            "Noise or sharpness could not be measured, so nothing can be said about what canals "
            "this scan shows.");
    } else {
        verdict.push_back("Where the dentine is even, a canal of " +
                          rounded(result.visible[0].diameter_mm) +
                          " mm stands out over 1 mm of its length, and one of " +
                          rounded(result.visible[1].diameter_mm) +
                          " mm over 3 mm; a thinner one may be there and not be seen.");
    }
    verdict.push_back(
        "Below " + rounded(result.half_maximum_limit_mm) +
        " mm (two voxels or the blur, whichever is more) a half-maximum width would show the blur, "
        "not the canal; only the missing grey summed over the section still tells its area.");
    if (geometry.spacing_mm.maxCoeff() > 0.25) {
        verdict.push_back("The voxels are larger than 0.25 mm: too coarse for root canals.");
    }
    if (result.double_edges_mm) {
        verdict.push_back("Edges stand double, " + rounded(*result.double_edges_mm) +
                          " mm apart, as when the head moves during the scan: canals may show "
                          "twice, and widths and walls are doubtful.");
    }
    verdict.push_back(
        "Streaks beside metal, movement and scatter make all of this worse in places.");
}

}  // namespace

Result<Survey> survey(const Volume& volume, const Progress& progress) {
    if (volume.voxels.empty() || volume.voxels.size() != volume.geometry.voxel_count()) {
        return fail(ErrorCode::BadInput, "the scan holds no voxels", "scan", "read a scan first");
    }
    Survey result;
    progress.report(0, "measuring grey values");
    measure_grey_range(volume, result);
    if (auto done = measure_quality(volume, progress, result); !done)
        return tl::unexpected(done.error());
    progress.report(0.9, "finding tissues");
    // Some two million voxels are plenty for the levels.
    const int step = std::max(1, int(std::cbrt(double(volume.voxels.size()) / 2e6)));
    result.tissues = tissue_levels(cut(volume, {0, 0, 0}, volume.geometry.size, step));
    judge_canals(volume.geometry, result);
    write_verdict(volume.geometry, result);
    progress.report(1, "finding tissues");
    return result;
}

}  // namespace anfract
