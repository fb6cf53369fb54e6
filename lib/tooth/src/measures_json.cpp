#include "anfract/tooth/measures_json.h"

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <numbers>

#include "anfract/tooth/tooth_number.h"
#include "canal_json.h"

namespace anfract {
namespace {

using nlohmann::json;

void add_deviations(const ViewDeviations& sd, json& node) {
    node["schneider_sd_deg"] = sd.schneider_deg;
    node["tangent_sd_deg"] = sd.tangent_deg;
    node["access_sd_deg"] = sd.access_deg;
    node["total_curvature_sd_deg"] = sd.total_curvature_deg;
    if (sd.arc_radius_mm) node["arc_radius_sd_mm"] = *sd.arc_radius_mm;
    if (sd.three_point_radius_mm) node["three_point_radius_sd_mm"] = *sd.three_point_radius_mm;
}

json view_to_json(const ViewMeasures& view, const ClinicalFrame& frame) {
    json node{{"schneider_deg", view.schneider_deg},
              {"schneider_low_deg", view.schneider_low_deg},
              {"schneider_high_deg", view.schneider_high_deg},
              {"schneider_class", schneider_class(view.schneider_deg)},
              {"tangent_deg", view.tangent_deg},
              {"access_deg", view.access_deg},
              {"coronal_straight_mm", view.coronal_straight_mm},
              {"apical_straight_mm", view.apical_straight_mm},
              {"arc_mm", view.arc_mm},
              {"foramen_offset_mm", view.foramen_offset_mm},
              {"total_curvature_deg", view.total_curvature_deg}};
    if (view.toward_P.squaredNorm() > 0) {
        node["toward"] = vec3_to(view.toward_P);
        node["turn_deg"] = direction_deg(frame, -view.toward_P);
    }
    if (view.arc_radius_mm) node["arc_radius_mm"] = *view.arc_radius_mm;
    if (view.three_point_radius_mm) node["three_point_radius_mm"] = *view.three_point_radius_mm;
    if (view.sd) add_deviations(*view.sd, node);
    return node;
}

/// The radiograph shows the plane normal to the buccal direction.
double turn_from_picture_deg(const Vec3& plane_normal_P, const ClinicalFrame& frame) {
    const double cosine = std::min(1.0, std::abs(plane_normal_P.dot(frame.buccal)));
    return std::acos(cosine) * 180.0 / std::numbers::pi;
}

json bend_to_json(const Bend& bend, const ClinicalFrame& frame) {
    json node{{"from_mm", bend.from_mm},
              {"to_mm", bend.to_mm},
              {"angle_deg", bend.angle_deg},
              {"radius_mm", bend.radius_mm},
              {"least_radius_mm", bend.least_radius_mm},
              {"sharpest_mm", bend.sharpest_mm},
              {"toward", vec3_to(bend.toward_P)},
              {"toward_name", direction_name(frame, bend.toward_P)},
              {"plane_normal", vec3_to(bend.plane_normal_P)},
              {"plane_turn_deg", turn_from_picture_deg(bend.plane_normal_P, frame)}};
    if (!bend.sd) return node;
    node["angle_sd_deg"] = bend.sd->angle_deg;
    node["radius_sd_mm"] = bend.sd->radius_mm;
    node["least_radius_sd_mm"] = bend.sd->least_radius_mm;
    return node;
}

json width_to_json(const WidthAt& width) {
    json node{{"place", width.place},
              {"depth_mm", width.depth_mm},
              {"diameter_mm", width.diameter_mm},
              {"diameter_short_mm", width.diameter_short_mm},
              {"diameter_long_mm", width.diameter_long_mm}};
    if (width.diameter_sd_mm > 0) node["diameter_sd_mm"] = width.diameter_sd_mm;
    return node;
}

json wall_to_json(const ThinnestWall& wall, const ClinicalFrame& frame) {
    json node{{"wall_mm", wall.wall_mm}, {"depth_mm", wall.depth_mm}};
    if (wall.toward_P.squaredNorm() > 0) {
        node["toward"] = vec3_to(wall.toward_P);
        node["toward_name"] = direction_name(frame, wall.toward_P);
    }
    return node;
}

json canal_measures_to_json(const CanalMeasures& m, const ClinicalFrame& frame) {
    json node{{"canal", m.canal},
              {"length_mm", m.length_mm},
              {"depth_to_foramen_mm", m.depth_to_foramen_mm},
              {"views",
               {{"clinical", view_to_json(m.clinical, frame)},
                {"across", view_to_json(m.across, frame)},
                {"worst", view_to_json(m.worst, frame)},
                {"space", view_to_json(m.space, frame)}}},
              {"hidden_schneider_deg", m.hidden_schneider_deg},
              {"hidden_curvature_deg", m.hidden_curvature_deg},
              {"bends", json::array()},
              {"s_shaped", m.s_shaped},
              {"torsion_deg", m.torsion_deg},
              {"widths", json::array()},
              {"profile",
               {{"depth_mm", m.profile.depth_mm},
                {"curvature_per_mm", m.profile.curvature_per_mm},
                {"curvature_sd_per_mm", m.profile.curvature_sd_per_mm},
                {"torsion_per_mm", m.profile.torsion_per_mm}}}};
    if (m.depth_sd_mm) node["depth_sd_mm"] = *m.depth_sd_mm;
    if (std::isfinite(m.least_radius_mm)) {
        node["least_radius_mm"] = m.least_radius_mm;
        node["least_radius_depth_mm"] = m.least_radius_depth_mm;
    }
    for (const Bend& bend : m.bends) {
        node["bends"].push_back(bend_to_json(bend, frame));
    }
    for (const WidthAt& width : m.widths) node["widths"].push_back(width_to_json(width));
    if (m.thinnest_wall) node["thinnest_wall"] = wall_to_json(*m.thinnest_wall, frame);
    return node;
}

json roots_to_json(const std::vector<Root>& roots) {
    json list = json::array();
    for (const Root& root : roots) {
        list.push_back({{"label", root.label},
                        {"canals", root.canals},
                        {"course", to_string(root.course)},
                        {"vertucci", vertucci_type(root.course)}});
    }
    return list;
}

json separation_to_json(const SeparationView& view) {
    json node{
        {"turn_deg", view.turn_deg}, {"least_share", view.least_share}, {"pairs", json::array()}};
    for (const PairSeparation& pair : view.pairs) {
        node["pairs"].push_back({{"canals", {pair.first, pair.second}},
                                 {"apart_share", pair.apart_share},
                                 {"distance_mm", pair.distance_mm}});
    }
    return node;
}

json cautions_for(const ClinicalFrame& frame) {
    json cautions{"A planning aid, not a cleared medical device; the licensed clinician decides.",
                  "Verify working length with an apex locator and a radiograph.",
                  "Widths and walls near the size of a voxel of the scan are uncertain."};
    if (!frame.known) {
        cautions.push_back(
            "The tooth number is not given: the clinical view is taken from the patient's left, "
            "and "
            "canals are not grouped into roots by name.");
    }
    return cautions;
}

}  // namespace

json measures_to_json(const Tooth& tooth, const ToothMeasures& measures) {
    const ClinicalFrame& frame = measures.frame;
    json document{{"format", "anfract.measures"},
                  {"version", 1},
                  {"tooth", {{"fdi", measures.fdi}}},
                  {"frame",
                   {{"known", frame.known},
                    {"apical", vec3_to(frame.apical)},
                    {"buccal", vec3_to(frame.buccal)},
                    {"mesial", vec3_to(frame.mesial)}}},
                  {"canals", json::array()},
                  {"roots", roots_to_json(measures.roots)},
                  {"code", measures.code.text()},
                  {"findings", tooth.findings},
                  {"cautions", cautions_for(frame)}};
    if (measures.separation) {
        document["separation"] = {{"usual", separation_to_json(measures.separation->usual)},
                                  {"best", separation_to_json(measures.separation->best)}};
    }
    if (tooth.invented) document["invented"] = true;
    if (const auto number = tooth_number_from_fdi(measures.fdi)) {
        document["tooth"]["universal"] = number->universal();
    }
    for (const CanalMeasures& canal : measures.canals) {
        json node = canal_measures_to_json(canal, frame);
        for (const Root& root : measures.roots) {
            const auto& names = root.canals;
            if (std::find(names.begin(), names.end(), canal.canal) != names.end()) {
                node["root"] = root.label;
            }
        }
        document["canals"].push_back(std::move(node));
    }
    return document;
}

}  // namespace anfract
