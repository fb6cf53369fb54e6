#include "canal_end.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "canal_fit.h"
#include "fading.h"
#include "ridge.h"

namespace anfract::tracing {
namespace {

constexpr float longest_detour = 2;      ///< in price, past the surface, to another canal
constexpr double least_join_mm = 1;      ///< of score, by which it must then lead
constexpr double longest_gap_mm = 0.15;  ///< without evidence on such a way
constexpr double onto_line_mm = 0.3;     ///< of another canal, from its voxels

class End {
  public:
    explicit End(const EndSearch& by)
        : by_(by), search_(by.search), g_(by.search.brick.geometry), owner_(by.owner) {}

    /// The cheapest way out, or into another canal, if that is cheaper or shows clearly. A way into
    /// another canal must look like a canal itself.
    void lead(CanalPath& path) const {
        // Onward only: the way back up the canal itself is the cheapest of all.
        constexpr double back_mm = 0.5;
        const double highest = height_mm(search_, path.voxels.back()) + back_mm;
        PathReach reach{12.0F};
        reach.is_goal = [this](std::size_t n) { return lies_at_surface(n); };
        reach.beyond = longest_detour;
        reach.is_shut = [&](std::size_t n) { return height_mm(search_, n) > highest; };
        const PathField field =
            cheapest_paths(by_.price, g_, {path.voxels.back()}, reach, by_.progress);
        std::vector<std::size_t> out, into;
        for (const std::uint32_t n : field.order) {
            if (lies_at_surface(n)) {
                if (out.empty()) out = field.path_to(n);
            } else if (owner_[n] >= 0 && on_path(n, owner_[n])) {
                into = field.path_to(n);
                if (mean_evidence(into) > z_threshold) break;
                into.clear();
            }
        }
        // What shows all the way into another canal outweighs a surface that happens to be near.
        const bool joins =
            !into.empty() && (out.empty() || field.cost[into.back()] < field.cost[out.back()] ||
                              (gained_along(into) > gained_along(out) + least_join_mm &&
                               unseen_along(into) < longest_gap_mm));
        const std::vector<std::size_t>& rest = joins ? into : out;
        if (rest.empty()) return;
        if (unseen_along(rest) > longest_gap_mm && lead_fading(path)) return;
        path.unseen_mm += unseen_along(rest);
        path.voxels.insert(path.voxels.end(), rest.begin() + 1, rest.end());
        path.joins = joins ? owner_[rest.back()] : -1;
    }

  private:
    /// Leads a path whose evidence fades to where it most probably goes; false when nowhere.
    bool lead_fading(CanalPath& path) const {
        // The last of what was found may have been led astray already.
        constexpr double back_mm = 1.5, course_mm = 1.5;
        const Polyline line = smooth_line(path.voxels, g_);
        const double s = line.length_mm() - back_mm;
        if (s < course_mm) return false;
        const Brick z{g_, search_.evidence.z};
        const FadingCanal canal{line.at(s), (line.at(s) - line.at(s - course_mm)).normalized(), z,
                                search_.body.depth, [this](const Vec3& p) { return other_at(p); }};
        const std::optional<FadingEnd> end = follow_fading(canal);
        if (!end) return false;
        const auto beyond = [&](std::size_t n) { return line.nearest(voxel_P(g_, n)).s_mm >= s; };
        path.voxels.erase(std::find_if(path.voxels.begin() + 1, path.voxels.end(), beyond),
                          path.voxels.end());
        for (const Vec3& point_P : end->points) {
            const std::size_t n = nearest_voxel(g_, point_P);
            if (n != path.voxels.back()) path.voxels.push_back(n);
        }
        path.unseen_mm += end->unseen_mm;
        path.joins = end->joins;
        return true;
    }

    /// Whose a place is, for a canal that fades.
    FadingCanal::Other other_at(const Vec3& point_P) const {
        const std::size_t n = nearest_voxel(g_, point_P);
        const int owner = owner_[n];
        FadingCanal::Other other{owner != VoxelOwners::none, -1};
        if (owner < 0) return other;
        const auto& line = by_.canals[std::size_t(owner)].voxels;
        const bool on_line = std::any_of(line.begin(), line.end(), [&](std::size_t v) {
            return distance_mm(g_, v, n) < onto_line_mm;
        });
        if (on_line) other.on_line = owner;
        return other;
    }

    bool lies_at_surface(std::size_t n) const { return search_.body.depth.grey[n] < least_wall_mm; }

    /// The length of a way inside the root without evidence.
    double unseen_along(const std::vector<std::size_t>& voxels) const {
        double unseen = 0;
        for (std::size_t v = 1; v < voxels.size(); ++v) {
            const bool inside = search_.body.depth.grey[voxels[v]] > least_wall_mm;
            if (inside && gain_at(search_, voxels[v]) <= 0)
                unseen += distance_mm(g_, voxels[v - 1], voxels[v]);
        }
        return unseen;
    }

    double gained_along(const std::vector<std::size_t>& voxels) const {
        double gained = 0;
        for (std::size_t v = 1; v < voxels.size(); ++v)
            gained += gain_at(search_, voxels[v]) * distance_mm(g_, voxels[v - 1], voxels[v]);
        return gained;
    }

    double mean_evidence(const std::vector<std::size_t>& voxels) const {
        double sum = 0;
        for (const std::size_t n : voxels) sum += std::min(search_.evidence.z[n], z_ceiling);
        return sum / double(voxels.size());
    }

    bool on_path(std::size_t n, int canal) const {
        const auto& voxels = by_.canals[std::size_t(canal)].voxels;
        return std::find(voxels.begin(), voxels.end(), n) != voxels.end();
    }

    const EndSearch& by_;
    const CanalSearch& search_;
    const GridGeometry& g_;
    const VoxelOwners& owner_;
};

}  // namespace

float gain_at(const CanalSearch& search, std::size_t voxel) {
    if (search.body.depth.grey[voxel] <= least_wall_mm) return -z_threshold;
    return std::clamp(search.evidence.z[voxel], 0.0F, z_ceiling) - z_threshold;
}

double height_mm(const CanalSearch& search, std::size_t voxel) {
    return voxel_P(search.brick.geometry, voxel).dot(search.coronal_P);
}

void lead_to_end(const EndSearch& by, CanalPath& path) { End(by).lead(path); }

}  // namespace anfract::tracing
