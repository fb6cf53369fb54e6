#include "canal_paths.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "anfract/base/parallel.h"
#include "canal_end.h"
#include "ridge.h"
#include "voxel_owners.h"

namespace anfract::tracing {
namespace {

constexpr float infinity = std::numeric_limits<float>::infinity();
constexpr double least_score_mm = 5;       ///< see "Presence" in the method page
constexpr double least_own_mm = 2.2;       ///< a shorter one is a recess of the chamber
constexpr double least_division_mm = 1.4;  ///< of a way out of another canal, that is no recess
constexpr double least_parted_mm = 1.0;    ///< of dentine between it and each other canal
constexpr double furthest_lumen_mm = 3;    ///< no lumen is broader
constexpr double beside_orifice_mm = 1.2;  ///< reach of one canal's claim about its own orifice
constexpr double highest_return_mm = 0.8;  ///< a canal does not climb back by more
constexpr float greatest_lapse_mm = 2;     ///< of score: what shows again beyond is something else
constexpr std::size_t most_canals = 8;

/// What falls short of a canal is still worth a look.
constexpr double least_possible_score_mm = 1.5;
constexpr double least_possible_own_mm = 1.2;
constexpr double least_faint_mm = 1.4;  ///< of a way too short for a canal
constexpr std::size_t most_possible = 4;
constexpr int most_recesses = 8;
constexpr float furthest = 20;  ///< price at which a way is given up: 4 mm of plain dentine

/// Price of a millimetre: dear in plain dentine, cheap along a tube, cheapest along its middle.
float price(float z) {
    const float strength = std::max(z, 0.0F) / 4;
    return 1 / (0.2F + strength * strength);
}

class Finder {
  public:
    Finder(const CanalSearch& search, const Progress& progress)
        : search_(search),
          g_(search.brick.geometry),
          progress_(progress),
          ridge_grey_(std::max(0.06 * search.levels.contrast(), 0.8 * search.levels.noise)),
          owner_(search.brick, ridge_grey_, search.threads) {
        price_.resize(owner_.size());
        for (std::size_t n = 0; n < price_.size(); ++n) {
            const float depth = search.body.depth.grey[n];
            const bool open = depth > 0 && search.open[n] != 0;
            const float z = depth > least_wall_mm ? search.evidence.z[n] : 0.0F;
            price_[n] = open ? price(z) : infinity;
        }
        for (std::size_t n = 0; n < owner_.size(); ++n) {
            if (search.pulp.chamber[n] != 0) owner_.give(n, chamber);
        }
        for (const std::size_t n : search.sources) owner_.give(n, chamber);
    }

    FoundCanals run() {
        // Most canals show in one tree; a second one, in which known canals are dear, finds those
        // that the first reaches only through a neighbour; a third, from the canals, finds
        // divisions.
        take_from(tree_from(search_.sources, price_), Way::FromChamber);
        for (std::size_t before = most_canals; before != canals_.size() && !canals_.empty();) {
            before = canals_.size();
            Tree from_canals;
            side_by_side(search_.threads,
                         {[&] { tree_round_canals(); }, [&] { from_canals = tree_from_canals(); }});
            take_from(round_canals_, Way::FromChamber);
            if (canals_.size() != before) from_canals = tree_from_canals();
            take_from(from_canals, Way::FromCanal);
        }
        std::vector<CanalPath> possible = look_for_possible();
        return {std::move(canals_), std::move(possible)};
    }

    CanalPath forced(std::size_t from, std::size_t to) {
        const std::size_t end = nearest_open(to);
        const PathReach reach{infinity, [&](std::size_t n) { return n == end; }};
        CanalPath path;
        path.voxels =
            cheapest_paths(price_, g_, {nearest_open(from)}, reach, progress_).path_to(end);
        measure(path);
        return path;
    }

  private:
    static constexpr int none = VoxelOwners::none, chamber = VoxelOwners::chamber;

    /// The voxel nearest to one, itself if it will do, that a path may enter; itself when none is
    /// near.
    std::size_t nearest_open(std::size_t n) const {
        if (price_[n] < infinity) return n;
        constexpr int reach = 16;
        const Vec3 at = voxel_I(g_, n);
        std::size_t best = n;
        double least = infinity;
        for (int k = int(at.z()) - reach; k <= int(at.z()) + reach; ++k) {
            for (int j = int(at.y()) - reach; j <= int(at.y()) + reach; ++j) {
                for (int i = int(at.x()) - reach; i <= int(at.x()) + reach; ++i) {
                    const bool within = unsigned(i) < unsigned(g_.size[0]) &&
                                        unsigned(j) < unsigned(g_.size[1]) &&
                                        unsigned(k) < unsigned(g_.size[2]);
                    if (!within || price_[g_.index(i, j, k)] == infinity) continue;
                    const double d = (Vec3(i, j, k) - at).cwiseProduct(g_.spacing_mm).norm();
                    if (d >= least) continue;
                    least = d;
                    best = g_.index(i, j, k);
                }
            }
        }
        return best;
    }

    float gain_at(std::size_t n) const { return tracing::gain_at(search_, n); }

    enum class Way { FromChamber, FromCanal };

    /// One step of a tree.
    struct Stride {
        std::int32_t parent = PathField::none;  ///< place of the voxel before it
        float length_mm = 0;
        float height_mm = 0;  ///< of the voxel it leads to
    };

    struct Tree {
        PathField ways;
        std::vector<Stride> strides;  ///< by place
    };

    Tree tree_from(const std::vector<std::size_t>& sources,
                   const std::vector<float>& prices) const {
        Tree tree{cheapest_paths(prices, g_, sources, {furthest}, progress_), {}};
        const std::vector<std::uint32_t>& order = tree.ways.order;
        tree.strides.resize(order.size());
        parallel_for(order.size(), search_.threads, [&](std::size_t begin, std::size_t end) {
            for (std::size_t place = begin; place < end; ++place) {
                const std::uint32_t n = order[place];
                Stride& stride = tree.strides[place];
                stride.parent = tree.ways.parent[n];
                stride.height_mm = float(height_mm(search_, n));
                if (stride.parent == PathField::none) continue;
                stride.length_mm = float(distance_mm(g_, order[std::size_t(stride.parent)], n));
            }
        });
        return tree;
    }

    /// From the chamber, with known canals as dear as dentine.
    const Tree& tree_round_canals() {
        if (knows_round_canals_) return round_canals_;
        std::vector<float> prices = price_;
        for (std::size_t n = 0; n < prices.size(); ++n) {
            if (owner_[n] >= 0) prices[n] = std::max(prices[n], price(0));
        }
        round_canals_ = tree_from(search_.sources, prices);
        knows_round_canals_ = true;
        return round_canals_;
    }

    Tree tree_from_canals() const {
        std::vector<std::size_t> taken;
        for (const CanalPath& canal : canals_)
            taken.insert(taken.end(), canal.voxels.begin(), canal.voxels.end());
        return tree_from(taken, price_);
    }

    /// Takes canal after canal, strongest first, out of one tree of cheapest ways.
    void take_from(const Tree& tree, Way way) {
        while (canals_.size() < most_canals && !progress_.cancelled()) {
            CanalPath best = best_in(tree, way, least_score_mm);
            if (best.voxels.empty()) return;
            const bool divides = owner_[best.voxels.front()] >= 0;
            if (best.own_mm < (divides ? least_division_mm : least_own_mm) ||
                !runs_apically(best)) {
                put_aside(best);
                continue;
            }
            const int same = same_lumen(best);
            if (same >= 0) {
                claim(best, same);
                continue;
            }
            const int start = owner_[best.voxels.front()];
            best.leaves = start >= 0 ? start : -1;
            lead_to_end({search_, price_, owner_, canals_, progress_}, best);
            claim(best, static_cast<int>(canals_.size()));
            canals_.push_back(std::move(best));
        }
    }

    /// Takes out of the search what is no canal. A dark recess is done with; a short way with faint
    /// evidence may be the beginning of a canal.
    void put_aside(const CanalPath& path) {
        for (const std::size_t n : path.voxels) {
            if (owner_[n] == none) owner_.give(n, chamber);
        }
        if (faint_mm(path) < least_faint_mm || !runs_apically(path)) return;
        claim(path, chamber);
        short_.push_back(path);
    }

    /// The length of a way that shows and yet is not dark.
    double faint_mm(const CanalPath& path) const {
        double length = 0;
        for (std::size_t v = 1; v < path.voxels.size(); ++v) {
            const std::size_t n = path.voxels[v];
            if (owner_[n] == chamber && search_.pulp.chamber[n] != 0) continue;
            if (search_.pulp.low[n] == 0 && gain_at(n) > 0)
                length += distance_mm(g_, path.voxels[v - 1], n);
        }
        return length;
    }

    /// Ways with some evidence that no canal explains, strongest first.
    std::vector<CanalPath> look_for_possible() {
        std::vector<CanalPath> possible = short_;
        const Tree& tree = tree_round_canals();
        for (int recesses = 0; recesses < most_recesses && possible.size() < most_possible;) {
            if (progress_.cancelled()) break;
            CanalPath best = best_in(tree, Way::FromChamber, least_possible_score_mm);
            if (best.voxels.empty()) break;
            const bool sound = best.own_mm >= least_possible_own_mm && runs_apically(best);
            claim(best, sound ? static_cast<int>(most_canals + possible.size()) : chamber);
            if (sound) {
                possible.push_back(std::move(best));
            } else {
                ++recesses;
            }
        }
        return possible;
    }

    /// The canal in whose lumen a way runs, with no dentine between them worth naming: a broad
    /// canal has room for two ways. -1 when there is none.
    int same_lumen(const CanalPath& path) const {
        for (std::size_t c = 0; c < canals_.size(); ++c) {
            const double parted = parted_mm(search_.brick, path.voxels, canals_[c].voxels,
                                            ridge_grey_, furthest_lumen_mm);
            if (parted < least_parted_mm) return static_cast<int>(c);
        }
        return -1;
    }

    /// A way along the chamber's wall or round a horn is no canal.
    bool runs_apically(const CanalPath& path) const {
        const Vec3 from = voxel_P(g_, path.voxels.front());
        const Vec3 to = voxel_P(g_, path.voxels.back());
        return (from - to).dot(search_.coronal_P) > 0.5 * path.own_mm;
    }

    /// What a way has gathered at a place of a tree. A way that has lapsed stays so: its score is
    /// minus infinity, and nothing else of it counts.
    struct Gathered {
        float score = 0;
        float peak = 0;       ///< of the score so far
        float lowest_mm = 0;  ///< height so far
    };

    /// The way in the tree that gathers most evidence in voxels nobody owns yet; empty when none
    /// has enough.
    CanalPath best_in(const Tree& tree, Way way, double least_score) {
        gathered_.resize(std::max(gathered_.size(), tree.strides.size()));
        double most = least_score;
        std::size_t end = 0;
        for (std::size_t place = 0; place < tree.strides.size(); ++place) {
            const Stride& stride = tree.strides[place];
            Gathered& here = gathered_[place];
            if (stride.parent == PathField::none) {
                here = {0, 0, stride.height_mm};
                continue;
            }
            const Gathered& before = gathered_[std::size_t(stride.parent)];
            here.score = -infinity;
            if (before.score == -infinity) continue;
            here.lowest_mm = std::min(stride.height_mm, before.lowest_mm);
            if (stride.height_mm > here.lowest_mm + highest_return_mm) continue;
            const std::uint32_t n = tree.ways.order[place];
            const bool own = owner_[n] == none;
            const bool through = way == Way::FromChamber && owner_[n] >= 0;
            const float worth = own ? gain_at(n) : through ? -z_threshold : 0.0F;
            const float score = before.score + worth * stride.length_mm;
            if (score < before.peak - greatest_lapse_mm) continue;
            here.score = score;
            here.peak = std::max(before.peak, score);
            if (own && score > most) {
                most = score;
                end = n;
            }
        }
        CanalPath best;
        if (most <= least_score) return best;
        best.voxels = tree.ways.path_to(end);
        trim_start(best);
        measure(best);
        return best;
    }

    /// Keeps one voxel of the chamber or parent canal at the start.
    /// Where a canal begins beside the orifice of another, its first voxels may be the other's: it
    /// begins in the chamber all the same.
    void trim_start(CanalPath& path) const {
        std::size_t first = 0;
        while (first + 1 < path.voxels.size() && owner_[path.voxels[first + 1]] != none) ++first;
        std::size_t floor = first;
        double beside_mm = 0;
        while (floor > 0 && owner_[path.voxels[floor]] >= 0 && beside_mm <= beside_orifice_mm) {
            beside_mm += distance_mm(g_, path.voxels[floor - 1], path.voxels[floor]);
            --floor;
        }
        if (owner_[path.voxels[floor]] == chamber) first = floor;
        path.voxels.erase(path.voxels.begin(), path.voxels.begin() + std::ptrdiff_t(first));
    }

    void measure(CanalPath& path) const {
        double gained = 0, own = 0, z_sum = 0;
        for (std::size_t v = 1; v < path.voxels.size(); ++v) {
            const std::size_t n = path.voxels[v];
            if (owner_[n] != none) continue;
            const double length = distance_mm(g_, path.voxels[v - 1], n);
            if (gained <= 0 && gain_at(n) > 0) path.first_sign = n;
            own += length;
            gained += length * gain_at(n);
            z_sum += length * std::min(search_.evidence.z[n], 2 * z_ceiling);
        }
        path.own_mm = own;
        path.score_mm = gained;
        path.mean_z = own > 0 ? z_sum / own : 0;
    }

    /// Gives the voxels that a way explains to what it is.
    void claim(const CanalPath& path, int owner) {
        knows_round_canals_ = knows_round_canals_ && owner < 0;
        owner_.claim(path.voxels, owner);
    }

    const CanalSearch& search_;
    const GridGeometry& g_;
    const Progress& progress_;
    const double ridge_grey_;  ///< of dentine between two canals, clear of noise
    VoxelOwners owner_;
    std::vector<float> price_;
    Tree round_canals_;
    bool knows_round_canals_ = false;  ///< as they are now
    std::vector<Gathered> gathered_;   ///< by place in the tree that was looked through last
    std::vector<CanalPath> canals_;
    std::vector<CanalPath> short_;  ///< with evidence enough for a canal, but too short
};

}  // namespace

FoundCanals find_canals(const CanalSearch& search, const Progress& progress) {
    return Finder(search, progress).run();
}

CanalPath forced_canal(const CanalSearch& search, std::size_t from, std::size_t to,
                       const Progress& progress) {
    return Finder(search, progress).forced(from, to);
}

}  // namespace anfract::tracing
