#include "fading.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <cstdint>
#include <numbers>
#include <unordered_map>

namespace anfract::tracing {
namespace {

constexpr double step_mm = 0.25;
constexpr double longest_mm = 14;
constexpr double surface_mm = 0.4;                       ///< under it, where the fit takes over
constexpr double turn_rad = 5 * std::numbers::pi / 180;  ///< between directions that are tried
constexpr double dentine_z = 0.9,
                 canal_z = 3.2;  ///< mean evidence in plain dentine and on a faint canal
constexpr double certain_z = 5;
constexpr double independent_mm = 0.25;  ///< over which evidence hangs together
constexpr double visible = 0.4;          ///< of a faint canal
constexpr double seen_z = 2.2;
constexpr double rest_sd_mm = 0.7;  ///< of root that goes on beyond the foramen
constexpr std::size_t most_ways = 400;

struct Way {
    Vec3 at_P, direction_P;
    double worth = 0;      ///< log of its probability against that of plain dentine
    double gained_mm = 0;  ///< evidence, summed
    int before = -1;       ///< in the list of all
};

/// The place and direction of a way, coarsely: of those that are alike the best is kept.
std::uint64_t coarse_key(const Way& way) {
    constexpr double cell_mm = 0.12, cell_direction = 0.1;
    std::uint64_t key = 0;
    for (int a = 0; a < 3; ++a) {
        const auto place = std::int64_t(std::floor(way.at_P[a] / cell_mm)) & 0xFFF;
        const auto direction = std::int64_t(std::floor((way.direction_P[a] + 1) / cell_direction));
        key = key << 20 | std::uint64_t(place) << 6 | std::uint64_t(direction);
    }
    return key;
}

class Follower {
  public:
    explicit Follower(const FadingCanal& canal) : canal_(canal) {}

    std::optional<FadingEnd> run() {
        all_.push_back({canal_.from_P, canal_.direction_P.normalized()});
        std::vector<int> front{0};
        for (double s = 0; s < longest_mm && !front.empty(); s += step_mm) front = stepped(front);
        if (best_ < 0) return std::nullopt;
        return ended();
    }

  private:
    double depth_at(const Vec3& p) const {
        return interpolate(canal_.depth, canal_.depth.geometry.to_voxel(p));
    }

    double z_at(const Vec3& p) const {
        return interpolate(canal_.z, canal_.z.geometry.to_voxel(p));
    }

    /// One step further; what arrives leaves the front.
    std::vector<int> stepped(const std::vector<int>& front) {
        std::unordered_map<std::uint64_t, Way> next;
        for (const int n : front) {
            const Way way = all_[std::size_t(n)];
            for (const Turn& turn : turns(way.direction_P)) {
                Way further = way;
                further.before = n;
                further.direction_P = turn.direction_P;
                further.at_P += step_mm * turn.direction_P;
                further.worth -= turn.price;
                if (!take(further)) continue;
                const auto [at, fresh] = next.try_emplace(coarse_key(further), further);
                if (!fresh && at->second.worth < further.worth) at->second = further;
            }
        }
        std::vector<Way> ways;
        for (auto& [key, way] : next) ways.push_back(way);
        const auto better = [](const Way& a, const Way& b) {
            if (a.worth != b.worth) return a.worth > b.worth;
            return std::lexicographical_compare(a.at_P.begin(), a.at_P.end(), b.at_P.begin(),
                                                b.at_P.end());
        };
        std::sort(ways.begin(), ways.end(), better);
        if (ways.size() > most_ways) ways.resize(most_ways);
        std::vector<int> result;
        for (const Way& way : ways) {
            result.push_back(int(all_.size()));
            all_.push_back(way);
        }
        return result;
    }

    struct Turn {
        Vec3 direction_P;
        double price;
    };

    std::vector<Turn> turns(const Vec3& direction) const {
        constexpr int round = 8;
        const Vec3 n1 = direction.unitOrthogonal(), n2 = direction.cross(n1);
        std::vector<Turn> result{{direction, 0}};
        for (int ring = 1; ring <= 2; ++ring) {
            const double radians = ring * turn_rad;
            const double price = radians * radians / (2 * turn_sd_rad * turn_sd_rad * step_mm);
            for (int k = 0; k < round; ++k) {
                const double around = 2 * std::numbers::pi * k / round;
                const Vec3 side = std::cos(around) * n1 + std::sin(around) * n2;
                result.push_back({std::cos(radians) * direction + std::sin(radians) * side, price});
            }
        }
        return result;
    }

    /// Adds what a step's end says. False when the way ends there.
    bool take(Way& way) {
        const double depth = depth_at(way.at_P);
        const FadingCanal::Other other = canal_.other(way.at_P);
        if (other.on_line >= 0) {
            arrive(way, 0, other.on_line);
            return false;
        }
        if (depth < surface_mm) {
            arrive(way, root_beyond_mm(way), -1);
            return false;
        }
        if (other.owned) return true;
        const double z = std::min(z_at(way.at_P), certain_z);
        const double likelier =
            (z - (dentine_z + canal_z) / 2) * (canal_z - dentine_z) * step_mm / independent_mm;
        way.worth += std::log(visible * std::exp(likelier) + 1 - visible);
        way.gained_mm += (z - seen_z) * step_mm;
        return true;
    }

    /// How far the root goes on beyond the end of a way, looked along the surface there: canals
    /// open near the root's end.
    double root_beyond_mm(const Way& way) const {
        constexpr double inward_mm = 0.7, every_mm = 0.25, most_mm = 8, apart_mm = 0.2;
        Vec3 inward{0, 0, 0};
        for (int a = 0; a < 3; ++a) {
            const Vec3 aside = apart_mm * Vec3::Unit(a);
            inward[a] = depth_at(way.at_P + aside) - depth_at(way.at_P - aside);
        }
        if (inward.norm() < 1e-9) return 0;
        inward.normalize();
        const Vec3 along = way.direction_P - way.direction_P.dot(inward) * inward;
        if (along.norm() < 1e-3) return 0;
        const Vec3 from = way.at_P + inward_mm * inward;
        double s = 0;
        while (s < most_mm && depth_at(from + s * along.normalized()) > 0) s += every_mm;
        return s;
    }

    void arrive(const Way& way, double beyond_mm, int joins) {
        const double over = std::max(0.0, beyond_mm - 1.0) / rest_sd_mm;
        const double worth = way.worth - over * over / 2;
        if (best_ >= 0 && worth <= best_worth_) return;
        best_ = int(all_.size());
        best_worth_ = worth;
        joins_ = joins;
        all_.push_back(way);
    }

    FadingEnd ended() const {
        FadingEnd end;
        end.joins = joins_;
        double most = -1e9, seen_mm = 0;
        std::vector<const Way*> ways;
        for (int n = best_; n >= 0; n = all_[std::size_t(n)].before)
            ways.push_back(&all_[std::size_t(n)]);
        std::reverse(ways.begin(), ways.end());
        for (std::size_t k = 0; k < ways.size(); ++k) {
            end.points.push_back(ways[k]->at_P);
            if (ways[k]->gained_mm < most) continue;
            most = ways[k]->gained_mm;
            seen_mm = double(k) * step_mm;
        }
        end.unseen_mm = double(ways.size() - 1) * step_mm - seen_mm;
        return end;
    }

    const FadingCanal& canal_;
    std::vector<Way> all_;
    int best_ = -1, joins_ = -1;
    double best_worth_ = 0;
};

}  // namespace

std::optional<FadingEnd> follow_fading(const FadingCanal& canal) { return Follower(canal).run(); }

}  // namespace anfract::tracing
