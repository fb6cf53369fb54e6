#include "edit_list.h"

#include <nlohmann/json.hpp>

#include "overloaded.h"
#include "request_json.h"

namespace anfract::server {
using nlohmann::json;

namespace {

constexpr std::size_t most_edits = 500;
constexpr std::size_t most_outline_points = 400;

Result<double> number_of(const json& object, const std::string& key) {
    const auto value = optional_number(object, key);
    if (!value) return tl::unexpected(value.error());
    if (!*value) return fail(ErrorCode::BadInput, "is missing", key, "give a number");
    return **value;
}

Result<Edit> move_point_of(const json& object) {
    const auto canal = text_of(object, "canal");
    if (!canal) return tl::unexpected(canal.error());
    const auto from = point_of(object, "from_mm"), to = point_of(object, "to_mm");
    if (!from) return tl::unexpected(from.error());
    if (!to) return tl::unexpected(to.error());
    return MovePoint{*canal, *from, *to};
}

Result<Edit> add_canal_of(const json& object) {
    const auto orifice = point_of(object, "orifice_mm"), end = point_of(object, "end_mm");
    if (!orifice) return tl::unexpected(orifice.error());
    if (!end) return tl::unexpected(end.error());
    return AddCanal{*orifice, *end};
}

Result<Edit> section_of(const json& object) {
    DrawSection section;
    const auto canal = text_of(object, "canal");
    if (!canal) return tl::unexpected(canal.error());
    const auto centre = point_of(object, "centre_mm");
    if (!centre) return tl::unexpected(centre.error());
    section.canal = *canal;
    section.centre_P = *centre;
    for (const auto& [key, into] : {std::pair{"diameter_short_mm", &section.diameter_short_mm},
                                    std::pair{"diameter_long_mm", &section.diameter_long_mm},
                                    std::pair{"long_axis_deg", &section.long_axis_deg}}) {
        const auto value = number_of(object, key);
        if (!value) return tl::unexpected(value.error());
        *into = *value;
    }
    return section;
}

Result<Edit> outline_of(const json& object) {
    const auto canal = text_of(object, "canal");
    if (!canal) return tl::unexpected(canal.error());
    const auto found = object.find("outline_mm");
    if (found == object.end() || !found->is_array() || found->size() < 3 ||
        found->size() > most_outline_points) {
        return fail(ErrorCode::BadInput, "is not a list of 3 to 400 points", "outline_mm",
                    "draw once round the canal");
    }
    DrawOutline outline{*canal, {}};
    for (const json& entry : *found) {
        const auto point = point_of({{"outline_mm", entry}}, "outline_mm");
        if (!point) return tl::unexpected(point.error());
        outline.outline_P.push_back(*point);
    }
    return outline;
}

Result<Edit> edit_of(const json& object) {
    if (!object.is_object()) {
        return fail(ErrorCode::BadInput, "is not an object", "edit", "give one with a kind");
    }
    const auto kind = text_of(object, "kind");
    if (!kind) return tl::unexpected(kind.error());
    if (*kind == "move-point") return move_point_of(object);
    if (*kind == "add-canal") return add_canal_of(object);
    if (*kind == "section") return section_of(object);
    if (*kind == "outline") return outline_of(object);
    if (*kind == "remove-canal") {
        const auto canal = text_of(object, "canal");
        if (!canal) return tl::unexpected(canal.error());
        return RemoveCanal{*canal};
    }
    if (*kind == "move-reference") {
        const auto to = point_of(object, "to_mm");
        if (!to) return tl::unexpected(to.error());
        return MoveReference{*to};
    }
    return fail(ErrorCode::BadInput, "'" + *kind + "' is not a kind of edit", "kind",
                "give move-point, add-canal, remove-canal, section, outline or move-reference");
}

Result<std::vector<Edit>> edits_under(const json& object, const std::string& key) {
    std::vector<Edit> edits;
    const auto found = object.find(key);
    if (found == object.end()) return edits;
    if (!found->is_array() || found->size() > most_edits) {
        return fail(ErrorCode::BadInput, "is not a list of at most 500 edits", key,
                    "give the list as it was answered");
    }
    for (const json& entry : *found) {
        auto edit = edit_of(entry);
        if (!edit) {
            Error error = edit.error();
            error.where = key + " " + std::to_string(edits.size() + 1) + ", " + error.where;
            return tl::unexpected(error);
        }
        edits.push_back(std::move(*edit));
    }
    return edits;
}

json edit_to_json(const Edit& edit) {
    return std::visit(
        Overloaded{
            [](const MovePoint& e) {
                return json{{"kind", "move-point"},
                            {"canal", e.canal},
                            {"from_mm", to_json(e.from_P)},
                            {"to_mm", to_json(e.to_P)}};
            },
            [](const AddCanal& e) {
                return json{{"kind", "add-canal"},
                            {"orifice_mm", to_json(e.orifice_P)},
                            {"end_mm", to_json(e.end_P)}};
            },
            [](const RemoveCanal& e) { return json{{"kind", "remove-canal"}, {"canal", e.canal}}; },
            [](const DrawSection& e) {
                return json{{"kind", "section"},
                            {"canal", e.canal},
                            {"centre_mm", to_json(e.centre_P)},
                            {"diameter_short_mm", e.diameter_short_mm},
                            {"diameter_long_mm", e.diameter_long_mm},
                            {"long_axis_deg", e.long_axis_deg}};
            },
            [](const DrawOutline& e) {
                json outline = json::array();
                for (const Vec3& point_P : e.outline_P) outline.push_back(to_json(point_P));
                return json{{"kind", "outline"}, {"canal", e.canal}, {"outline_mm", outline}};
            },
            [](const MoveReference& e) {
                return json{{"kind", "move-reference"}, {"to_mm", to_json(e.to_P)}};
            }},
        edit);
}

json edits_to_json(const std::vector<Edit>& edits) {
    json list = json::array();
    for (const Edit& edit : edits) list.push_back(edit_to_json(edit));
    return list;
}

}  // namespace

Result<EditList> edit_list_of(const json& object) {
    auto edits = edits_under(object, "edits"), undone = edits_under(object, "undone");
    if (!edits) return tl::unexpected(edits.error());
    if (!undone) return tl::unexpected(undone.error());
    return EditList{std::move(*edits), std::move(*undone)};
}

json to_json(const EditList& list) {
    return {{"edits", edits_to_json(list.edits)}, {"undone", edits_to_json(list.undone)}};
}

}  // namespace anfract::server
