#include "anfract/tray/material.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace anfract {
namespace {

MaterialFacts facts_of_named(NamedMaterial material) {
    switch (material) {
        case NamedMaterial::StainlessSteel:
            return {193000,
                    0.008,
                    {{0, 0}, {0.008, 1544}, {0.02, 2000}, {0.12, 2100}},
                    "E 193 GPa: handbook value of 302/304 wire, from memory; elastic limit 0.8 %: "
                    "yield of "
                    "cold-drawn wire over E; strength 2 GPa: handbook, from memory"};
        case NamedMaterial::NitiAustenitic:
            // Upper plateau 379 MPa, martensite yield 814 MPa; the plateau ends at a strain of 6 %.
            return {75000,
                    0.06,
                    {{0, 0}, {379.0 / 75000, 379}, {0.06, 379}, {0.0724, 814}, {0.12, 814}},
                    "E 75 to 83 GPa: handbook sheet; plateau 379 MPa and yield 814 MPa: typical "
                    "data of a "
                    "wire supplier, 1999; 6 % for 100 cycles: the same"};
        case NamedMaterial::NitiMartensitic:
            return {
                35000,
                0.06,
                {{0, 0}, {0.004, 140}, {0.05, 250}, {0.12, 900}},
                "E 28 to 41 GPa: handbook sheet; course above 0.4 %: from memory, low confidence"};
        case NamedMaterial::GuttaPercha:
            return {140, 0.05, {}, "E 0.14 GPa and limit 5 %: from memory, low confidence"};
        case NamedMaterial::Paper:
            return {500, 0.05, {}, "E 0.5 GPa and limit 5 %: assumed, no source"};
        case NamedMaterial::Polymer:
            return {2000,
                    0.05,
                    {},
                    "E 2 GPa and limit 5 %: usual polyamide, from memory, low confidence"};
    }
    return {};
}

double stress_MPa(const std::vector<std::pair<double, double>>& table, double strain) {
    const double size = std::abs(strain);
    double stress = table.back().second;
    for (std::size_t i = 1; i < table.size(); ++i) {
        if (size > table[i].first) continue;
        const auto& [e0, s0] = table[i - 1];
        const auto& [e1, s1] = table[i];
        stress = s0 + (s1 - s0) * (size - e0) / (e1 - e0);
        break;
    }
    return strain < 0 ? -stress : stress;
}

/// Integral over [-1, 1] of sigma(eps t) t sqrt(1 - t^2) dt, by the midpoint rule in the angle t =
/// sin(a): the integrand is smooth and periodic there, up to the kinks of the table.
double moment_integral(const std::vector<std::pair<double, double>>& table, double strain) {
    constexpr int steps = 400;
    double sum = 0;
    for (int i = 0; i < steps; ++i) {
        const double a = (i + 0.5) / steps * std::numbers::pi / 2;
        sum += stress_MPa(table, strain * std::sin(a)) * std::sin(a) * std::cos(a) * std::cos(a);
    }
    return 2 * sum * std::numbers::pi / 2 / steps;
}

constexpr double largest_strain = 0.12;
constexpr int table_steps = 240;

}  // namespace

MaterialFacts facts_of(const Material& material) {
    if (const auto* named = std::get_if<NamedMaterial>(&material)) return facts_of_named(*named);
    if (const auto* linear = std::get_if<LinearMaterial>(&material)) {
        return {linear->modulus_MPa, std::nullopt, {}, "given by the tray"};
    }
    const auto& table = std::get<TabulatedMaterial>(material).strain_stress_MPa;
    return {table.at(1).second / table.at(1).first, table.back().first, table, "given by the tray"};
}

MomentLaw::MomentLaw(const MaterialFacts& facts, double bore_ratio) {
    const auto& table = facts.strain_stress_MPa;
    if (table.size() < 3) return;
    const double b = std::clamp(bore_ratio, 0.0, 0.95);
    step_ = largest_strain / table_steps;
    softening_.resize(table_steps + 1, 1.0);
    for (int i = 1; i <= table_steps; ++i) {
        const double eps = i * step_;
        const double full = moment_integral(table, eps);
        const double hole = b > 0 ? b * b * b * moment_integral(table, eps * b) : 0.0;
        softening_[i] =
            8 * (full - hole) / (std::numbers::pi * eps * facts.modulus_MPa * (1 - b * b * b * b));
    }
}

double MomentLaw::secant(double surface_strain) const {
    if (softening_.empty()) return 1.0;
    const double eps = std::abs(surface_strain);
    if (eps >= largest_strain) return softening_.back() * largest_strain / eps;
    const double place = eps / step_;
    const int i = std::min(static_cast<int>(place), table_steps - 1);
    const double t = place - i;
    return softening_[i] * (1 - t) + softening_[i + 1] * t;
}

}  // namespace anfract
