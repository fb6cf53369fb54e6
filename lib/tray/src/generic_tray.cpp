#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>

#include "anfract/tray/tray_file.h"
#include "section.h"

namespace anfract {
namespace {

const Section square = section_named("square");
const Section triangle = section_named("triangle");
const Section round_section = section_named("round");

/// "025" for 0.25 mm: the size number of [ISO3630-1].
std::string size_name(double tip_mm) {
    std::array<char, 8> text{};
    std::snprintf(text.data(), text.size(), "%03d", static_cast<int>(std::lround(tip_mm * 100)));
    return text.data();
}

std::string taper_name(double taper) { return size_name(taper).substr(1); }

std::string number(int value) { return std::to_string(value); }

/// Tolerance of files: 0.02 mm for sizes 006 to 060 [ISO3630-1, edition 2008, from memory].
constexpr double file_tolerance_mm = 0.02;
constexpr double working_part_mm = 16;  // the least that [ISO3630-1] asks for

void add_hand_files(Tray& tray) {
    for (const double tip : {0.06, 0.08, 0.10, 0.15, 0.20, 0.25, 0.30, 0.35, 0.40}) {
        for (const int length : {21, 25, 31}) {
            Device file;
            file.id = "hand-" + size_name(tip) + "-" + number(length);
            file.name = "Hand file " + size_name(tip) + "/.02, " + number(length) + " mm";
            file.kind = DeviceKind::HandFile;
            file.material = NamedMaterial::StainlessSteel;
            file.section = square;
            file.tip_mm = tip;
            file.taper = 0.02;
            file.working_part_mm = working_part_mm;
            file.length_mm = length;
            file.tolerance_mm = file_tolerance_mm;
            file.stock = length == 25 ? 6 : 4;
            file.max_uses = tip <= 0.10 ? 1 : 3;
            tray.devices.push_back(file);
        }
    }
}

void add_rotary_file(Tray& tray, double tip, double taper, int length, NamedMaterial alloy) {
    Device file;
    const bool martensitic = alloy == NamedMaterial::NitiMartensitic;
    file.id = "rotary-" + size_name(tip) + "-" + taper_name(taper) + "-" + number(length);
    file.name = "Rotary file " + size_name(tip) + "/." + taper_name(taper) + ", " + number(length) +
                " mm" + (martensitic ? ", heat-treated" : "");
    file.kind = DeviceKind::RotaryFile;
    file.material = alloy;
    file.section = triangle;
    file.tip_mm = tip;
    file.taper = taper;
    file.working_part_mm = working_part_mm;
    // A uniform taper of .06 would pass the shaft's own width: the working part ends where it is
    // reached.
    file.shaft_mm = std::min(1.0, tip + taper * working_part_mm);
    if (tip + taper * working_part_mm > 1.0) {
        file.diameters_mm = {{0, tip}, {(1.0 - tip) / taper, 1.0}, {working_part_mm, 1.0}};
    }
    file.length_mm = length;
    file.tolerance_mm = file_tolerance_mm;
    file.stock = length == 25 ? 4 : 2;
    file.max_uses = tip < 0.18 ? 1 : 4;
    tray.devices.push_back(file);
}

void add_rotary_files(Tray& tray) {
    for (const double taper : {0.02, 0.03, 0.04, 0.06}) {
        for (const double tip : {0.10, 0.13, 0.14, 0.15, 0.17, 0.20, 0.25, 0.30, 0.35, 0.40}) {
            // The narrowest steep and widest slender shapes are not made in practice.
            if (taper > 0.05 && tip < 0.15) continue;
            const bool small = tip < 0.18 || taper < 0.035;
            const NamedMaterial alloy =
                small ? NamedMaterial::NitiMartensitic : NamedMaterial::NitiAustenitic;
            for (const int length : {21, 25}) add_rotary_file(tray, tip, taper, length, alloy);
            if (taper <= 0.04 && tip <= 0.25) add_rotary_file(tray, tip, taper, 31, alloy);
        }
    }
}

/// A round device of one width, or a tapered one; everything that does not cut.
Device& add_round(Tray& tray, std::string id, std::string name, DeviceKind kind,
                  NamedMaterial material, double tip, double taper, double working, double length) {
    Device device;
    device.id = std::move(id);
    device.name = std::move(name);
    device.kind = kind;
    device.material = material;
    device.section = round_section;
    device.tip_mm = tip;
    device.taper = taper;
    device.working_part_mm = working;
    device.length_mm = length;
    tray.devices.push_back(std::move(device));
    return tray.devices.back();
}

void add_cannulas(Tray& tray) {
    struct Gauge {
        int gauge;
        double outside_mm, bore_mm;
    };
    // Nominal outside and bore of regular-wall tubing of the needle-gauge chart; [ISO9626] gives
    // ranges about them. Thin-wall cannulas have a wider bore: it is a figure of the device, never
    // of its gauge.
    constexpr std::array<Gauge, 5> gauges{{{27, 0.4128, 0.210},
                                           {28, 0.3620, 0.184},
                                           {29, 0.3366, 0.184},
                                           {30, 0.3112, 0.159},
                                           {31, 0.2604, 0.133}}};
    const auto add = [&tray](const Gauge& gauge, const char* suffix, const char* what,
                             NamedMaterial material, int length) {
        Device& cannula = add_round(
            tray, "cannula-" + number(gauge.gauge) + "g" + suffix + "-" + number(length),
            std::string(what) + " cannula " + number(gauge.gauge) + "G, " + number(length) + " mm",
            DeviceKind::IrrigationCannula, material, gauge.outside_mm, 0, length, length);
        cannula.bore_mm = gauge.bore_mm;
        cannula.stock = 10;
    };
    for (const Gauge& gauge : gauges) {
        for (const int length : {21, 25}) {
            add(gauge, "", "Steel", NamedMaterial::StainlessSteel, length);
        }
    }
    add(gauges[4], "-niti", "Nickel-titanium", NamedMaterial::NitiAustenitic, 25);
    add(gauges[3], "-polymer", "Polymer", NamedMaterial::Polymer, 25);
}

void add_rinsing(Tray& tray) {
    add_round(tray, "agitation-small", "Agitation tip, small", DeviceKind::AgitationTip,
              NamedMaterial::Polymer, 0.15, 0.02, 16, 22)
        .stock = 6;
    add_round(tray, "agitation-medium", "Agitation tip, medium", DeviceKind::AgitationTip,
              NamedMaterial::Polymer, 0.25, 0.04, 16, 22)
        .stock = 6;
}

void add_points_and_cones(Tray& tray) {
    for (const double tip : {0.15, 0.20, 0.25, 0.30, 0.35, 0.40}) {
        for (const double taper : {0.02, 0.04, 0.06}) {
            const std::string size = size_name(tip) + "-" + taper_name(taper);
            const std::string label = size_name(tip) + "/." + taper_name(taper);
            // [ISO6877], edition 2006, from memory: at least 28 mm long; cones 0.05 mm to size 025,
            // above it 0.07.
            Device& cone = add_round(tray, "cone-" + size, "Cone " + label, DeviceKind::Cone,
                                     NamedMaterial::GuttaPercha, tip, taper, 28, 28);
            cone.tolerance_mm = tip <= 0.25 ? 0.05 : 0.07;
            cone.stock = 20;
            Device& point =
                add_round(tray, "paper-" + size, "Paper point " + label, DeviceKind::PaperPoint,
                          NamedMaterial::Paper, tip, taper, 28, 28);
            point.stock = 40;
        }
    }
}

void add_filling(Tray& tray) {
    for (const double tip : {0.40, 0.50, 0.60, 0.80}) {
        Device& steel =
            add_round(tray, "plugger-steel-" + size_name(tip), "Steel plugger " + size_name(tip),
                      DeviceKind::Plugger, NamedMaterial::StainlessSteel, tip, 0.02, 16, 23);
        steel.max_uses = 200;
    }
    for (const double tip : {0.30, 0.40, 0.50}) {
        Device& niti = add_round(tray, "plugger-niti-" + size_name(tip),
                                 "Nickel-titanium plugger " + size_name(tip), DeviceKind::Plugger,
                                 NamedMaterial::NitiAustenitic, tip, 0.02, 16, 25);
        niti.max_uses = 100;
    }
    add_round(tray, "heat-tip-040", "Heat tip 040/.04", DeviceKind::HeatTip,
              NamedMaterial::StainlessSteel, 0.40, 0.04, 16, 23)
        .max_uses = 100;
    add_round(tray, "heat-tip-050", "Heat tip 050/.06", DeviceKind::HeatTip,
              NamedMaterial::StainlessSteel, 0.50, 0.06, 12, 21)
        .max_uses = 100;
    Device& thin =
        add_round(tray, "injection-25g", "Injection cannula 25G", DeviceKind::InjectionCannula,
                  NamedMaterial::StainlessSteel, 0.5144, 0, 24, 24);
    thin.bore_mm = 0.260;
    thin.stock = 10;
    Device& wide =
        add_round(tray, "injection-23g", "Injection cannula 23G", DeviceKind::InjectionCannula,
                  NamedMaterial::StainlessSteel, 0.6414, 0, 24, 24);
    wide.bore_mm = 0.337;
    wide.stock = 10;
    Device& compactor =
        add_round(tray, "compactor-045", "Coronal compactor 045/.04", DeviceKind::CoronalCompactor,
                  NamedMaterial::NitiAustenitic, 0.45, 0.04, 14, 21);
    compactor.section = triangle;
    compactor.max_uses = 20;
}

}  // namespace

Tray generic_tray() {
    Tray tray;
    add_hand_files(tray);
    add_rotary_files(tray);
    add_cannulas(tray);
    add_rinsing(tray);
    add_points_and_cones(tray);
    add_filling(tray);
    tray.sources = {
        "An invented stock: counts and uses are plausible defaults, not a recommendation.",
        "Files: sizes, taper .02, lengths, 16 mm working part and tolerance 0.02 mm after ISO "
        "3630-1 (edition "
        "2008, from memory); sizes 013, 014 and 017 and tapers .03, .04, .06 are usual in the "
        "trade "
        "(common practice, no source).",
        "Cones: sizes and tolerances 0.05 mm (to 025) and 0.07 mm after ISO 6877 (edition 2006, "
        "from memory).",
        "Cannulas: outside and bore are nominal figures of the regular-wall needle-gauge chart, in "
        "the ranges "
        "of ISO 9626:2016.",
        "Agitation tips, paper points, pluggers, heat tips and the coronal compactor: common "
        "practice, no source.",
        "Alloys: see the method page tray.md.",
    };
    return tray;
}

}  // namespace anfract
