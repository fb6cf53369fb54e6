#include "waist.h"

#include <algorithm>
#include <cmath>

#include "ridge.h"

namespace anfract::tracing {
namespace {

constexpr double slab_mm = 0.4, half_mm = 1.5;
constexpr double step_mm = 0.08;
constexpr double reach_mm = 1.2;                       ///< along the long axis
constexpr double across_mm = 0.6;                      ///< of it to either side
constexpr double least_ratio = 1.7;                    ///< of long over short diameter
constexpr double least_depth = 0.1, most_depth = 0.4;  ///< of a waist; beyond, dentine parts two
constexpr double least_side_mm = 0.12,
                 least_side = 0.35;  ///< width of a side, and over the other's
constexpr double least_stretch_mm = 1.5;
constexpr double head_mm = 0.5;  ///< of a canal, that the chamber's blur reaches
constexpr double beside_orifice_mm = 1.5;
constexpr double closing_mm = 1.2;  ///< below the waist the two are led together
constexpr double presence =
    1.0 / 3;  ///< one of four in 272 teeth was two, by the rule of succession

/// Widths across the long axis, mm of pulp, from -reach to reach.
std::vector<double> widths(const SectionImage& image, const SectionSetting& setting,
                           const Vec2& along) {
    const Vec2 side(-along.y(), along.x());
    const double contrast = setting.dentine_grey - setting.pulp_grey;
    std::vector<double> result;
    for (int k = -int(reach_mm / step_mm); k <= int(reach_mm / step_mm); ++k) {
        double sum = 0;
        for (double c = -across_mm; c <= across_mm; c += image.pixel_mm) {
            const Vec2 p = (k * step_mm * along + c * side) / image.pixel_mm;
            const int x = int(std::lround(p.x())), y = int(std::lround(p.y()));
            if (std::abs(x) > image.half || std::abs(y) > image.half) continue;
            const std::size_t n = image.index(x, y);
            sum += image.share[n] * (setting.dentine_grey - image.grey[n]) / contrast;
        }
        result.push_back(sum * image.pixel_mm);
    }
    return result;
}

/// A stretch of sections with a waist: its first, and the waists from there on.
struct Stretch {
    std::size_t first = 0;
    std::vector<Waist> waists;
};

class Parter {
  public:
    Parter(const Site& site, std::vector<TracedCanal>& canals)
        : site_(site),
          canals_(canals),
          setting_(section_setting(site.brick, site.levels, slab_mm)) {}

    bool part(std::size_t which) {
        const Stretch stretch = longest(which);
        if (stretch.waists.empty()) return false;
        const auto& sections = canals_[which].fit.sections;
        const double from_mm = sections[stretch.first].station.s_mm;
        const double to_mm = sections[stretch.first + stretch.waists.size() - 1].station.s_mm;
        if (to_mm - from_mm < least_stretch_mm) return false;
        CanalPath& path = canals_[which].path;
        const Polyline line = line_of(canals_[which].fit);
        std::vector<std::size_t> above, below;
        for (const std::size_t n : path.voxels) {
            const double s = line.nearest(voxel_P(site_.brick.geometry, n)).s_mm;
            if (s < from_mm) above.push_back(n);
            if (s > to_mm + closing_mm) below.push_back(n);
        }
        if (above.empty() || below.empty()) return false;
        TracedCanal lesser;
        lesser.presence = presence;
        const bool own_orifice = from_mm < beside_orifice_mm;
        lesser.path.voxels.push_back(own_orifice ? above.front() : above.back());
        lesser.path.leaves = own_orifice ? -1 : int(which);
        lesser.path.joins = int(which);
        path.voxels = own_orifice ? std::vector<std::size_t>{above.front()} : above;
        for (std::size_t k = 0; k < stretch.waists.size(); ++k) {
            const Station& station = sections[stretch.first + k].station;
            const Waist& waist = stretch.waists[k];
            path.voxels.push_back(
                site_.voxel_at(station.at(waist.greater_mm.x(), waist.greater_mm.y())));
            lesser.path.voxels.push_back(
                site_.voxel_at(station.at(waist.lesser_mm.x(), waist.lesser_mm.y())));
        }
        lesser.path.voxels.push_back(below.front());
        path.voxels.insert(path.voxels.end(), below.begin(), below.end());
        canals_.push_back(std::move(lesser));
        return true;
    }

  private:
    /// Whose waists keep to their sides.
    Stretch longest(std::size_t which) const {
        Stretch longest, now;
        const auto& sections = canals_[which].fit.sections;
        Vec3 toward{0, 0, 0};
        for (std::size_t n = 0; n < sections.size(); ++n) {
            std::optional<Waist> waist = waist_at(which, sections[n]);
            if (!waist) {
                now.waists.clear();
                continue;
            }
            if (now.waists.empty()) {
                now.first = n;
                toward = Vec3(0, 0, 0);
            }
            const Station& station = sections[n].station;
            const auto side = [&] {
                return Vec3(station.at(waist->lesser_mm.x(), waist->lesser_mm.y()) -
                            station.at(waist->greater_mm.x(), waist->greater_mm.y()));
            };
            if (side().dot(toward) < 0) std::swap(waist->greater_mm, waist->lesser_mm);
            toward = side();
            now.waists.push_back(*waist);
            if (now.waists.size() > longest.waists.size()) longest = now;
        }
        return longest;
    }

    std::optional<Waist> waist_at(std::size_t which, const FittedSection& section) const {
        if (section.ratio < least_ratio || section.station.s_mm < head_mm) return std::nullopt;
        const Vec3& own_P = section.station.point_P;
        const auto own = [&](const Vec3& p) {
            if (site_.depth_mm(p) < 0.25) return 0.0;
            for (std::size_t m = 0; m < canals_.size(); ++m) {
                if (m == which || canals_[m].fit.sections.empty()) continue;
                const Vec3& other_P = nearest_section(canals_[m].fit.sections, p).station.point_P;
                if ((other_P - p).norm() < (own_P - p).norm()) return 0.0;
            }
            return 1.0;
        };
        const SectionImage image =
            sample_section(site_.brick, section.station, half_mm, slab_mm, own);
        const std::optional<Waist> waist = find_waist(image, setting_, section.long_axis_rad);
        if (!waist || waist->depth < least_depth || waist->depth > most_depth) return std::nullopt;
        return waist;
    }

    const Site& site_;
    std::vector<TracedCanal>& canals_;
    const SectionSetting setting_;
};

}  // namespace

std::optional<Waist> find_waist(const SectionImage& image, const SectionSetting& setting,
                                double long_axis_rad) {
    const Vec2 along(std::cos(long_axis_rad), std::sin(long_axis_rad));
    const std::vector<double> width = widths(image, setting, along);
    std::optional<Waist> found;
    for (auto at = width.begin() + 1; at + 1 < width.end(); ++at) {
        const auto before = std::max_element(width.begin(), at);
        const auto after = std::max_element(at + 1, width.end());
        const double lesser = std::min(*before, *after), greater = std::max(*before, *after);
        if (lesser < std::max(least_side_mm, least_side * greater)) continue;
        const double depth = 1 - *at / lesser;
        if (depth <= (found ? found->depth : 0)) continue;
        const auto middle = [&](auto peak) -> Vec2 {
            return (step_mm * double(peak - width.begin()) - reach_mm) * along;
        };
        const bool first = *before >= *after;
        found = {middle(first ? before : after), middle(first ? after : before), depth};
    }
    return found;
}

bool part_waists(const Site& site, std::vector<TracedCanal>& canals) {
    Parter parter(site, canals);
    bool parted = false;
    const std::size_t count = canals.size();
    for (std::size_t n = 0; n < count; ++n) {
        const bool alone = canals[n].path.joins < 0 && canals[n].path.leaves < 0;
        if (alone && !canals[n].by_hand && parter.part(n)) parted = true;
    }
    return parted;
}

}  // namespace anfract::tracing
