#include "isthmus.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace anfract::tracing {
namespace {

constexpr double step_mm = 0.08;
constexpr double window_mm = 0.4;  ///< of the way, over which the sheet is read
constexpr double across_mm = 0.4;  ///< to either side, as far as the blurred sheet reaches
constexpr double flank_mm = 0.7;   ///< from there on to here dentine stands
constexpr double least_apart_mm = 0.9, most_apart_mm = 3.5;
constexpr double least_z = 3;
constexpr double end_share = 0.8;    ///< of the way, short of the other one's middle
constexpr double edge_share = 0.35;  ///< of the lumen's chord above the sheet, at its end

/// What is missing across the way to the other canal, integrated: mm of pulp.
class Profile {
  public:
    Profile(const SectionImage& image, const SectionSetting& setting, const Vec2& toward)
        : image_(image), setting_(setting), toward_(toward) {}

    /// Nothing where the image ends or dentine on either side is wanting.
    std::optional<double> at(double t_mm) const {
        const Vec2 side(-toward_.y(), toward_.x());
        double flank = 0, flanks = 0, grey = 0, inner = 0;
        for (double c = -flank_mm; c <= flank_mm + 1e-9; c += image_.pixel_mm) {
            const Vec2 p = (t_mm * toward_ + c * side) / image_.pixel_mm;
            const int x = int(std::lround(p.x())), y = int(std::lround(p.y()));
            if (std::abs(x) > image_.half || std::abs(y) > image_.half) return {};
            const double value = image_.grey[image_.index(x, y)];
            const bool flanking = std::abs(c) > across_mm;
            (flanking ? flank : grey) += value;
            (flanking ? flanks : inner) += 1;
        }
        if (flanks < 1) return {};
        const double contrast = setting_.dentine_grey - setting_.pulp_grey;
        const double background = flank / flanks;
        if (background < setting_.dentine_grey - 0.3 * contrast) return {};
        return (background * inner - grey) / contrast * image_.pixel_mm;
    }

  private:
    const SectionImage& image_;
    const SectionSetting& setting_;
    const Vec2 toward_;
};

/// Noise of a mean of the profile over the window.
double profile_sd_mm(const SectionSetting& setting) {
    const double inner_mm2 = 2 * across_mm * window_mm;
    const double flank_mm2 = 2 * (flank_mm - across_mm) * window_mm;
    const double per_area = setting.noise_cell_mm3 / setting.slab_mm;
    const double mean_sd = std::sqrt(per_area / inner_mm2 + per_area / flank_mm2);
    return setting.noise / (setting.dentine_grey - setting.pulp_grey) * mean_sd * 2 * across_mm;
}

}  // namespace

std::optional<double> isthmus_view_mm(double apart_mm) {
    if (apart_mm < least_apart_mm || apart_mm > most_apart_mm) return std::nullopt;
    return std::hypot(end_share * apart_mm, flank_mm);
}

Isthmus find_isthmus(const SectionImage& image, const SectionSetting& setting,
                     const Vec2& other_mm) {
    Isthmus found;
    const double apart = other_mm.norm();
    if (!isthmus_view_mm(apart)) return found;
    found.toward = other_mm / apart;
    found.sd_mm = profile_sd_mm(setting);
    const Profile profile(image, setting, found.toward);
    // From inside the canal to short of the other one's middle.
    constexpr double behind_mm = 0.3;
    std::vector<double> values;
    for (double t = -behind_mm; t < end_share * apart; t += step_mm) {
        const std::optional<double> value = profile.at(t);
        if (!value) break;
        values.push_back(*value);
    }
    const auto window = std::size_t(std::lround(window_mm / step_mm));
    double least = 1e9;
    std::size_t least_at = 0;
    for (std::size_t n = std::size_t(behind_mm / step_mm); n + window <= values.size(); ++n) {
        double mean = 0;
        for (std::size_t k = 0; k < window; ++k) mean += values[n + k] / double(window);
        if (mean >= least) continue;
        least = mean;
        least_at = n;
    }
    if (least > 1e8 || least < least_z * found.sd_mm) return found;
    const auto peak =
        std::max_element(values.begin(), values.begin() + std::ptrdiff_t(least_at + 1));
    const double edge = least + edge_share * (*peak - least);
    // One lumen, or none beside the sheet.
    if (*peak < 1.5 * least) return found;
    auto at = peak;
    while (at != values.begin() + std::ptrdiff_t(least_at) && *at > edge) ++at;
    found.from_mm = -behind_mm + step_mm * double(at - values.begin());
    found.thickness_mm = least;
    return found;
}

void fill_isthmus(const Isthmus& isthmus, const SectionSetting& setting, SectionImage& image) {
    if (isthmus.thickness_mm <= 0) return;
    const double sigma = std::hypot(setting.sigma_psf_mm, setting.voxel_mm / std::sqrt(6.0));
    const double peak = (setting.dentine_grey - setting.pulp_grey) * isthmus.thickness_mm /
                        (sigma * std::sqrt(2 * std::numbers::pi));
    const Vec2 side(-isthmus.toward.y(), isthmus.toward.x());
    for (int y = -image.half; y <= image.half; ++y) {
        for (int x = -image.half; x <= image.half; ++x) {
            const Vec2 p = Vec2(x, y) * image.pixel_mm;
            const double along = (p.dot(isthmus.toward) - isthmus.from_mm) / sigma;
            const double c = p.dot(side) / sigma;
            if (along < -4 || std::abs(c) > 4) continue;
            image.grey[image.index(x, y)] += static_cast<float>(
                peak * std::exp(-c * c / 2) * 0.5 * std::erfc(-along / std::numbers::sqrt2));
        }
    }
}

}  // namespace anfract::tracing
