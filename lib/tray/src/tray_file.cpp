#include "anfract/tray/tray_file.h"

#include <algorithm>
#include <array>
#include <nlohmann/json.hpp>
#include <set>

#include "anfract/base/json_document.h"
#include "section.h"

namespace anfract {
namespace {

using nlohmann::json;

constexpr std::array<std::pair<const char*, NamedMaterial>, 6> material_names{{
    {"stainless-steel", NamedMaterial::StainlessSteel},
    {"niti-austenitic", NamedMaterial::NitiAustenitic},
    {"niti-martensitic", NamedMaterial::NitiMartensitic},
    {"gutta-percha", NamedMaterial::GuttaPercha},
    {"paper", NamedMaterial::Paper},
    {"polymer", NamedMaterial::Polymer},
}};

constexpr std::array kinds{
    DeviceKind::HandFile,
    DeviceKind::RotaryFile,
    DeviceKind::ReciprocatingFile,
    DeviceKind::IrrigationCannula,
    DeviceKind::AgitationTip,
    DeviceKind::PaperPoint,
    DeviceKind::Cone,
    DeviceKind::Plugger,
    DeviceKind::HeatTip,
    DeviceKind::InjectionCannula,
    DeviceKind::CoronalCompactor,
};

Section section_from_json(const json& value) {
    if (value.is_object()) return {"custom", value.at("inertia_ratio").get<double>()};
    return section_named(value.get<std::string>());
}

std::vector<std::pair<double, double>> pairs_from_json(const json& rows) {
    std::vector<std::pair<double, double>> table;
    for (const json& row : rows)
        table.emplace_back(row.at(0).get<double>(), row.at(1).get<double>());
    return table;
}

json pairs_to_json(const std::vector<std::pair<double, double>>& table) {
    json rows = json::array();
    for (const auto& [x, y] : table) rows.push_back({x, y});
    return rows;
}

Material material_from_json(const json& value) {
    if (value.is_string()) {
        for (const auto& [name, material] : material_names) {
            if (value == name) return material;
        }
    }
    if (value.contains("modulus_MPa")) return LinearMaterial{value.at("modulus_MPa").get<double>()};
    return TabulatedMaterial{pairs_from_json(value.at("stress_strain"))};
}

json material_to_json(const Material& material) {
    if (const auto* named = std::get_if<NamedMaterial>(&material)) {
        for (const auto& [name, candidate] : material_names) {
            if (candidate == *named) return name;
        }
    }
    if (const auto* linear = std::get_if<LinearMaterial>(&material)) {
        return {{"modulus_MPa", linear->modulus_MPa}};
    }
    return {
        {"stress_strain", pairs_to_json(std::get<TabulatedMaterial>(material).strain_stress_MPa)}};
}

std::optional<double> optional_number(const json& value, const char* key) {
    if (!value.contains(key)) return std::nullopt;
    return value.at(key).get<double>();
}

/// The taper of a device that is given by its diameters: that of its first millimetres.
double taper_at_the_tip(const Device& device) {
    const double first_mm = std::min(3.0, device.working_part_mm);
    return first_mm > 0
               ? std::max(0.0, device.diameter_mm_at(first_mm) - device.diameter_mm_at(0)) /
                     first_mm
               : 0;
}

Device device_from_json(const json& value) {
    Device device;
    device.id = value.at("id").get<std::string>();
    device.name = value.value("name", "");
    const std::string kind = value.at("kind").get<std::string>();
    for (const DeviceKind candidate : kinds) {
        if (to_string(candidate) == kind) device.kind = candidate;
    }
    device.material = material_from_json(value.at("material"));
    if (value.contains("section")) device.section = section_from_json(value.at("section"));
    device.length_mm = value.at("length_mm").get<double>();
    if (value.contains("diameters_mm"))
        device.diameters_mm = pairs_from_json(value["diameters_mm"]);
    const auto& table = device.diameters_mm;
    device.tip_mm = value.value("tip_mm", table.empty() ? 0.0 : table.front().second);
    device.working_part_mm =
        value.value("working_part_mm", table.empty() ? 0.0 : table.back().first);
    device.taper = value.value("taper", table.empty() ? 0.0 : taper_at_the_tip(device));
    device.shaft_mm = optional_number(value, "shaft_mm");
    device.bore_mm = optional_number(value, "bore_mm");
    device.bending_moment_45deg_mNm = optional_number(value, "bending_moment_45deg_mNm");
    device.tolerance_mm = value.value("tolerance_mm", 0.0);
    device.stock = value.value("stock", 1);
    device.max_uses = value.value("max_uses", 1);
    device.life_used = value.value("life_used", 0.0);
    return device;
}

json device_to_json(const Device& device) {
    json value{{"id", device.id},
               {"kind", to_string(device.kind)},
               {"material", material_to_json(device.material)},
               {"length_mm", device.length_mm},
               {"stock", device.stock},
               {"max_uses", device.max_uses}};
    if (!device.name.empty()) value["name"] = device.name;
    if (device.section.name == "custom") {
        value["section"] = {{"inertia_ratio", device.section.inertia_ratio}};
    } else {
        value["section"] = device.section.name;
    }
    value["tip_mm"] = device.tip_mm;
    value["taper"] = device.taper;
    value["working_part_mm"] = device.working_part_mm;
    if (!device.diameters_mm.empty()) value["diameters_mm"] = pairs_to_json(device.diameters_mm);
    if (device.shaft_mm) value["shaft_mm"] = *device.shaft_mm;
    if (device.bore_mm) value["bore_mm"] = *device.bore_mm;
    if (device.bending_moment_45deg_mNm) {
        value["bending_moment_45deg_mNm"] = *device.bending_moment_45deg_mNm;
    }
    if (device.tolerance_mm > 0) value["tolerance_mm"] = device.tolerance_mm;
    if (device.life_used > 0) value["life_used"] = device.life_used;
    return value;
}

/// What is wrong with a stress-strain table, or "".
std::string table_complaint(const std::vector<std::pair<double, double>>& table) {
    if (table.front().first != 0 || table.front().second != 0)
        return "must start at strain 0, stress 0";
    if (table[1].first <= 0 || table[1].second <= 0)
        return "must rise from its first row to its second";
    for (std::size_t i = 1; i < table.size(); ++i) {
        if (table[i].first <= table[i - 1].first) return "has strains that do not rise";
        if (table[i].second < table[i - 1].second) return "has a stress that falls";
    }
    return "";
}

std::string diameters_complaint(const std::vector<std::pair<double, double>>& table) {
    for (std::size_t i = 0; i < table.size(); ++i) {
        if (i > 0 && table[i].first <= table[i - 1].first) return "has distances that do not rise";
        if (table[i].second <= 0) return "has a diameter that is not above 0";
    }
    return "";
}

/// What is wrong with the device beyond its schema, or "".
std::string device_complaint(const Device& device) {
    if (device.working_part_mm > device.length_mm) {
        return "its working part is longer than its length_mm";
    }
    if (!device.diameters_mm.empty()) {
        const std::string complaint = diameters_complaint(device.diameters_mm);
        if (!complaint.empty()) return "its table diameters_mm " + complaint;
    }
    if (device.bore_mm && *device.bore_mm >= device.diameter_mm_at(device.length_mm)) {
        return "its bore_mm is not smaller than its outside";
    }
    if (const auto* table = std::get_if<TabulatedMaterial>(&device.material)) {
        const std::string complaint = table_complaint(table->strain_stress_MPa);
        if (!complaint.empty()) return "its table stress_strain " + complaint;
    }
    return "";
}

}  // namespace

Result<Tray> tray_from_json(const json& document, const std::string& where) {
    Tray tray;
    if (document.contains("sources")) {
        tray.sources = document.at("sources").get<std::vector<std::string>>();
    }
    std::set<std::string> ids;
    for (const json& value : document.at("devices")) {
        Device device = device_from_json(value);
        if (!ids.insert(device.id).second) {
            return fail(ErrorCode::BadInput, "two devices have the id '" + device.id + "'", where,
                        "give each its own id");
        }
        if (const std::string complaint = device_complaint(device); !complaint.empty()) {
            return fail(ErrorCode::BadInput, "device '" + device.id + "': " + complaint, where,
                        "correct the file");
        }
        tray.devices.push_back(std::move(device));
    }
    return tray;
}

Result<Tray> read_tray(const std::filesystem::path& path) {
    return read_document(path, "anfract.tray").and_then([&](const json& document) {
        return tray_from_json(document, path.string());
    });
}

json tray_to_json(const Tray& tray) {
    json document{{"format", "anfract.tray"}, {"version", 1}, {"devices", json::array()}};
    for (const Device& device : tray.devices) document["devices"].push_back(device_to_json(device));
    if (!tray.sources.empty()) document["sources"] = tray.sources;
    return document;
}

Result<void> write_tray(const std::filesystem::path& path, const Tray& tray) {
    return write_document(path, tray_to_json(tray), "anfract.tray");
}

}  // namespace anfract
