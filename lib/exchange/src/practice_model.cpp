#include "anfract/exchange/practice_model.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <limits>

#include "level_set.h"
#include "tube.h"

namespace anfract {
namespace {

using exchange::LevelSet;

constexpr double margin_mm = 2;          ///< of a block round the canals
constexpr double block_top_mm = 3;       ///< of a block over the highest orifice
constexpr double into_chamber_mm = 0.5;  ///< canals reach into the chamber, so that they meet it
constexpr double most_cells = 4e6;       ///< of the surfaces; about 1 GB
constexpr double flat_share = 0.02;      ///< adaptivity: merges flat parts, keeps curved ones

/// Turns the patient frame so that the crown points up.
Mat3 upright(const Tooth& tooth) {
    Vec3 crown{0, 0, 0};
    for (const Canal& canal : tooth.canals) crown += canal.orifice_P - canal.foramen_P;
    if (crown.norm() == 0) crown = Vec3::UnitZ();
    return Eigen::Quaterniond::FromTwoVectors(crown, Vec3::UnitZ()).toRotationMatrix();
}

Surface turned(Surface surface, const Mat3& turn) {
    for (Vec3& p : surface.vertices_P) p = turn * p;
    return surface;
}

double area_mm2(const Surface& surface) {
    double twice = 0;
    for (const auto& [a, b, c] : surface.triangles) {
        const auto& p = surface.vertices_P;
        twice += (p[b] - p[a]).cross(p[c] - p[a]).norm();
    }
    return twice / 2;
}

Result<void> check(const Tooth& tooth, const ModelOptions& options) {
    if (tooth.canals.empty()) {
        return fail(ErrorCode::BadInput, "the tooth has no canal to make hollow", "",
                    "trace it again, or insist on a canal");
    }
    if (!(options.scale >= 0.5 && options.scale <= 20)) {
        return fail(ErrorCode::BadInput, "the scale is not between 0.5 and 20", "scale",
                    "1 is life size");
    }
    if (options.grid_mm != 0 && !(options.grid_mm >= 0.005 && options.grid_mm <= 0.5)) {
        return fail(ErrorCode::BadInput, "the grid is not between 0.005 and 0.5 mm", "grid",
                    "leave it out for a fifth of the narrowest canal");
    }
    if (options.body == ModelBody::Tooth && !tooth.surface) {
        return fail(ErrorCode::BadInput, "the file holds no outer surface of the tooth", "surface",
                    "trace the tooth, or ask for a block");
    }
    return {};
}

void note_narrowest(const Tooth& tooth, PracticeModel& model) {
    model.narrowest_mm = std::numeric_limits<double>::infinity();
    for (const Canal& canal : tooth.canals) {
        for (const CanalSample& sample : canal.samples) {
            const double d =
                sample.diameter_short_mm > 0 ? sample.diameter_short_mm : sample.diameter_mm;
            if (d >= model.narrowest_mm) continue;
            model.narrowest_mm = d;
            model.narrowest_canal = canal.name;
            model.narrowest_depth_mm = sample.depth_mm;
        }
    }
}

/// Heights (z, crown up) that the parts of a model share.
struct Levels {
    double highest_orifice_mm, top_mm;
};

Surface block_of(const std::vector<Surface>& canals, const Levels& levels) {
    Vec3 low = canals[0].vertices_P[0], high = low;
    for (const Surface& canal : canals) {
        for (const Vec3& p : canal.vertices_P) {
            low = low.cwiseMin(p);
            high = high.cwiseMax(p);
        }
    }
    const Vec3 round{margin_mm, margin_mm, margin_mm};
    high.z() = levels.top_mm - margin_mm;
    return exchange::box(low - round, high + round);
}

/// A straight way from the crown to all orifices.
Surface opening_of(const Tooth& tooth, const Mat3& turn, const Levels& levels) {
    Vec3 middle{0, 0, 0};
    for (const Canal& canal : tooth.canals) middle += turn * canal.orifice_P;
    middle /= static_cast<double>(tooth.canals.size());
    double radius_mm = 0;
    for (const Canal& canal : tooth.canals) {
        const Vec3 off = turn * canal.orifice_P - middle;
        radius_mm =
            std::max(radius_mm, std::hypot(off.x(), off.y()) + canal.samples[0].diameter_mm / 2);
    }
    const Vec3 foot{middle.x(), middle.y(), levels.highest_orifice_mm - 0.2};
    const Vec3 head{middle.x(), middle.y(), levels.top_mm + 1};
    return exchange::straight_tube(foot, head, radius_mm + 0.2, radius_mm + 0.4);
}

struct Parts {
    Surface body;
    std::vector<Surface> hollows;
};

Parts parts_of(const Tooth& tooth, const ModelOptions& options, const Mat3& turn) {
    Levels levels{-std::numeric_limits<double>::infinity(), 0};
    for (const Canal& canal : tooth.canals) {
        levels.highest_orifice_mm =
            std::max(levels.highest_orifice_mm, (turn * canal.orifice_P).z());
    }
    std::vector<Surface> bare;
    for (const Canal& canal : tooth.canals) {
        bare.push_back(turned(exchange::canal_tube(canal, 0, 0), turn));
    }
    Parts parts;
    if (options.body == ModelBody::Tooth) {
        parts.body = turned(*tooth.surface, turn);
        levels.top_mm = -std::numeric_limits<double>::infinity();
        for (const Vec3& p : parts.body.vertices_P) levels.top_mm = std::max(levels.top_mm, p.z());
    } else {
        levels.top_mm = levels.highest_orifice_mm + block_top_mm;
        parts.body = block_of(bare, levels);
    }
    const double beyond_mm =
        options.body == ModelBody::Tooth
            ? 0.5
            : (parts.body.vertices_P.back() - parts.body.vertices_P.front()).norm();
    for (const Canal& canal : tooth.canals) {
        const double climb = levels.highest_orifice_mm - (turn * canal.orifice_P).z();
        const double above_mm = into_chamber_mm + (tooth.chamber ? 0 : climb);
        parts.hollows.push_back(turned(exchange::canal_tube(canal, above_mm, beyond_mm), turn));
    }
    if (tooth.chamber) parts.hollows.push_back(turned(*tooth.chamber, turn));
    if (options.opened) parts.hollows.push_back(opening_of(tooth, turn, levels));
    return parts;
}

/// To the model's size, standing on z = 0 about the z axis.
void place(Surface& surface, double scale) {
    Vec3 low = surface.vertices_P[0], high = low;
    for (const Vec3& p : surface.vertices_P) {
        low = low.cwiseMin(p);
        high = high.cwiseMax(p);
    }
    const Vec3 foot{(low.x() + high.x()) / 2, (low.y() + high.y()) / 2, low.z()};
    for (Vec3& p : surface.vertices_P) p = scale * (p - foot);
}

}  // namespace

Result<PracticeModel> practice_model(const Tooth& tooth, const ModelOptions& options,
                                     const Progress& progress) {
    if (auto checked = check(tooth, options); !checked) return tl::unexpected(checked.error());
    PracticeModel model;
    note_narrowest(tooth, model);
    model.grid_mm =
        options.grid_mm > 0 ? options.grid_mm : std::clamp(model.narrowest_mm / 5, 0.02, 0.08);
    const Parts parts = parts_of(tooth, options, upright(tooth));
    double area = area_mm2(parts.body);
    for (const Surface& hollow : parts.hollows) area += area_mm2(hollow);
    if (area / (model.grid_mm * model.grid_mm) > most_cells) {
        return fail(ErrorCode::BadInput, "the grid is too fine for this tooth", "grid",
                    "use at least " + std::to_string(std::sqrt(area / most_cells)) + " mm");
    }

    const auto stopped = [] { return fail(ErrorCode::Cancelled, "stopped before the end"); };
    LevelSet hollow(parts.hollows[0], model.grid_mm);
    for (std::size_t k = 1; k < parts.hollows.size(); ++k) {
        if (progress.cancelled()) return stopped();
        progress.report(0.5 * static_cast<double>(k) / static_cast<double>(parts.hollows.size()),
                        "hollowing the canals");
        hollow.add(LevelSet(parts.hollows[k], model.grid_mm));
    }
    if (progress.cancelled()) return stopped();
    progress.report(0.5, "making the body");
    LevelSet solid(parts.body, model.grid_mm);
    solid.take(std::move(hollow));
    if (progress.cancelled()) return stopped();
    progress.report(0.8, "making the surface");
    model.surface = solid.surface(flat_share);
    place(model.surface, options.scale);
    model.narrowest_mm *= options.scale;
    return model;
}

}  // namespace anfract
