#pragma once

#include <optional>
#include <string>
#include <utility>
#include <variant>
#include <vector>

namespace anfract {

enum class DeviceKind {
    HandFile,
    RotaryFile,
    ReciprocatingFile,
    IrrigationCannula,
    AgitationTip,
    PaperPoint,
    Cone,
    Plugger,
    HeatTip,
    InjectionCannula,
    CoronalCompactor,
};

enum class NamedMaterial {
    StainlessSteel,
    NitiAustenitic,
    NitiMartensitic,
    GuttaPercha,
    Paper,
    Polymer,
};

/// A linear material given by its Young's modulus.
struct LinearMaterial {
    double modulus_MPa = 0;
};

/// A material given by a stress-strain table, rising from (0, 0); symmetric in tension and
/// compression.
struct TabulatedMaterial {
    std::vector<std::pair<double, double>> strain_stress_MPa;
};

using Material = std::variant<NamedMaterial, LinearMaterial, TabulatedMaterial>;

/// Second moment of area of the section over that of its circumscribed circle.
struct Section {
    std::string name = "round";  ///< round, square, triangle or custom
    double inertia_ratio = 1.0;
};

/// Something that is put down a canal: an elastic tapered body.
struct Device {
    std::string id;
    std::string name;  ///< for people; empty: use id
    DeviceKind kind = DeviceKind::HandFile;
    Material material = NamedMaterial::StainlessSteel;
    Section section;
    double tip_mm = 0;  ///< D0: diameter the taper would have at the very tip
    double taper = 0;   ///< mm per mm
    double working_part_mm = 0;
    std::optional<double> shaft_mm;  ///< diameter above the working part
    std::optional<double> bore_mm;   ///< inner diameter of a tube
    double length_mm = 0;            ///< tip to handle or stop
    std::vector<std::pair<double, double>>
        diameters_mm;  ///< (distance from tip, diameter), replaces tip and taper
    std::optional<double>
        bending_moment_45deg_mNm;  ///< ISO 3630-1 bending test, replaces computed stiffness
    double tolerance_mm = 0;       ///< of the diameter, plus or minus
    int stock = 1;
    int max_uses = 1;
    /// Share of its life that earlier cases have used, at the low estimate (Miner's sum); 0: new.
    double life_used = 0;

    /// Outer diameter (mm) at `x_mm` from the tip, 0 <= x_mm <= length_mm.
    double diameter_mm_at(double x_mm) const;
    /// True for files: they cut dentine.
    bool cuts() const;
};

/// True for a device of that material by name; one given by its figures is made of none.
bool is_made_of(const Device& device, NamedMaterial material);

std::string to_string(DeviceKind kind);

/// The devices at hand.
struct Tray {
    std::vector<Device> devices;
    std::vector<std::string> sources;

    const Device* find(const std::string& id) const {
        for (const Device& device : devices) {
            if (device.id == id) return &device;
        }
        return nullptr;
    }
};

}  // namespace anfract
