#include "ruler_lanes.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <numbers>

#include "text.h"

namespace anfract {
namespace {

const Passage* passage_at(const Plan& plan, int index) {
    if (index < 0 || std::size_t(index) >= plan.passages.size()) return nullptr;
    return &plan.passages[std::size_t(index)].passage;
}

/// Width of the sheet at `sample` toward `direction`, linear between the two nearest directions.
double wall_toward(const WallSheet& sheet, std::size_t sample, const Vec3& tangent,
                   const Vec3& direction) {
    const Vec3 e1 = sheet.first_direction[sample];
    const Vec3 e2 = tangent.cross(e1);
    const double turn = std::atan2(direction.dot(e2), direction.dot(e1)) / (2 * std::numbers::pi);
    const double place = (turn - std::floor(turn)) * sheet.theta_count;
    const int lo = int(place) % sheet.theta_count, hi = (lo + 1) % sheet.theta_count;
    const double t = place - std::floor(place);
    return (1 - t) * sheet.wall_mm[sample][std::size_t(lo)] +
           t * sheet.wall_mm[sample][std::size_t(hi)];
}

Vec3 tangent_at(const Canal& canal, std::size_t i) {
    const std::size_t lo = i == 0 ? 0 : i - 1, hi = std::min(i + 1, canal.samples.size() - 1);
    return (canal.samples[hi].point_P - canal.samples[lo].point_P).normalized();
}

/// The side of the canal where dentine is thin on the whole: mean of the thinnest directions, thin
/// ones counting more.
Vec3 thin_side(const Canal& canal) {
    Vec3 sum = Vec3::Zero();
    for (const CanalSample& sample : canal.samples) {
        if (sample.wall_min_mm) sum += sample.wall_min_toward / std::max(0.2, *sample.wall_min_mm);
    }
    return sum;
}

std::optional<double> known(double wall_mm) {
    if (!std::isfinite(wall_mm)) return std::nullopt;
    return wall_mm;
}

void add_walls(const Canal& canal, RulerLane& lane) {
    const Vec3 side = thin_side(canal);
    const bool sheet = canal.wall_sheet && canal.wall_sheet->theta_count > 0 &&
                       canal.wall_sheet->wall_mm.size() == canal.samples.size() &&
                       side.norm() > 1e-9;
    for (std::size_t i = 0; i < canal.samples.size(); ++i) {
        if (sheet) {
            const Vec3 tangent = tangent_at(canal, i);
            lane.wall_below_mm.push_back(known(wall_toward(*canal.wall_sheet, i, tangent, side)));
            lane.wall_above_mm.push_back(known(wall_toward(*canal.wall_sheet, i, tangent, -side)));
        } else {
            lane.wall_below_mm.push_back(canal.samples[i].wall_min_mm);
            lane.wall_above_mm.push_back(std::nullopt);
        }
    }
}

std::string end_of_work(const CanalPlan& planned) {
    return planned.ends_at_join ? "join with " + planned.ends_at_join->canal : "working depth";
}

/// Why a step ends where it does. Its passage is held there, and names only the limit that is
/// nearest.
std::string end_word(const PlanStep& step, const Passage& passage, double working_mm,
                     const std::string& end_of_work) {
    if (std::abs(step.depth_mm - working_mm) < 0.2) return end_of_work;
    if (step.action == StepAction::Open) return "upper part only";
    return to_string(passage.stopped_by);
}

/// Why a device that removes nothing ends there. Its passage says how far it could go.
std::string end_word(const PassiveDevice& passive, const Passage& passage, double working_mm,
                     const std::string& end_of_work) {
    const double more_mm = passage.reaches_mm - passive.reaches_mm;
    if (std::abs(passive.reaches_mm - working_mm) < 0.05) return end_of_work;
    if (more_mm > 0.05 && more_mm < 1.05 && passage.stopped_by == StoppedBy::Width) {
        return "width, " + fixed(more_mm, 1) + " back";
    }
    if (more_mm > 0.05 || passage.stopped_by == StoppedBy::Foramen) return "as planned";
    if (passage.stopped_by == StoppedBy::Strain) {
        return "strain " + fixed(passage.peak_strain * 100, 1) + " % at " +
               fixed(passage.peak_strain_depth_mm, 1);
    }
    return to_string(passage.stopped_by);
}

/// A device's name without its length, which the ruler shows by itself.
std::string short_name(const Tray& tray, const std::string& id) {
    const std::string name = device_name(tray, id);
    return name.substr(0, name.find(','));
}

RulerBar bar_of(const Plan& plan, const std::string& mark, const std::string& device,
                double ends_mm, const Passage& passage) {
    RulerBar bar;
    bar.mark = mark;
    bar.label = short_name(plan.tray, device);
    bar.ends_mm = ends_mm;
    const Device* found = plan.tray.find(device);
    if (found && (found->cuts() || found->kind == DeviceKind::Cone)) bar.size_mm = found->tip_mm;
    for (auto [from, to] : passage.binds) {
        if (from < ends_mm) bar.binds_mm.emplace_back(from, std::min(to, ends_mm));
    }
    return bar;
}

/// Bars for the order first, then one for each job.
std::vector<RulerBar> bars_of(const Plan& plan, const CanalPlan& planned) {
    std::vector<RulerBar> bars;
    for (const PlanStep& step : planned.order) {
        const Passage* passage = passage_at(plan, step.passage);
        if (!passage) continue;
        bars.push_back(
            bar_of(plan, std::to_string(bars.size() + 1), step.device, step.depth_mm, *passage));
        bars.back().end_word =
            end_word(step, *passage, planned.working_depth_mm, end_of_work(planned));
    }
    for (const PassiveDevice& passive : planned.passive) {
        const Passage* passage = passage_at(plan, passive.passage);
        if (!passive.chosen || !passage) continue;
        bars.push_back(
            bar_of(plan, to_string(passive.job), passive.device, passive.reaches_mm, *passage));
        bars.back().end_word =
            end_word(passive, *passage, planned.working_depth_mm, end_of_work(planned));
    }
    return bars;
}

RulerLane lane_of(const Plan& plan, const CanalPlan& planned, const Canal& canal) {
    RulerLane lane;
    lane.name = planned.canal;
    lane.depth_text = fixed(planned.depth_to_foramen_mm, 1);
    if (planned.depth_sd_mm) lane.depth_text += " ± " + fixed(*planned.depth_sd_mm, 1);
    lane.depth_text += " mm";
    lane.depth_sd_mm = planned.depth_sd_mm.value_or(0);
    lane.working_mm = planned.working_depth_mm;
    for (const CanalSample& sample : canal.samples) {
        lane.depth_mm.push_back(sample.depth_mm);
        lane.width_mm.push_back(sample.diameter_mm);
        lane.curvature_per_mm.push_back(sample.curvature_per_mm);
    }
    lane.orifice_mm = lane.depth_mm.front();
    lane.foramen_mm = planned.depth_to_foramen_mm;
    add_walls(canal, lane);
    lane.shaped_depth_mm = planned.lumen_after.depth_mm;
    lane.shaped_width_mm = planned.lumen_after.diameter_mm;
    if (planned.removal && planned.removal->along) lane.left = *planned.removal->along;
    lane.bars = bars_of(plan, planned);
    return lane;
}

}  // namespace

std::string device_name(const Tray& tray, const std::string& id) {
    const Device* device = tray.find(id);
    return device && !device->name.empty() ? device->name : id;
}

std::vector<RulerLane> ruler_lanes(const Plan& plan) {
    std::vector<RulerLane> lanes;
    for (const CanalPlan& planned : plan.canals) {
        const Canal* canal = plan.tooth.find(planned.canal);
        if (canal && !canal->samples.empty()) lanes.push_back(lane_of(plan, planned, *canal));
    }
    return lanes;
}

}  // namespace anfract
