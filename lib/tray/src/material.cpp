#include "anfract/tray/material.h"

#include <algorithm>
#include <array>
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
            // Upper plateau from 379 MPa, martensite yield 814 MPa; the plateau ends at a strain of
            // 6 % and rises by 100 MPa, as in the parameter sets of published finite element
            // models.
            return {75000,
                    0.06,
                    {{0, 0}, {379.0 / 75000, 379}, {0.06, 479}, {0.0696, 814}, {0.12, 814}},
                    "E 75 to 83 GPa: handbook sheet; plateau 379 MPa and yield 814 MPa: typical "
                    "data of a "
                    "wire supplier, 1999; 6 % for 100 cycles: the same; rise of the plateau: from "
                    "memory"};
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
constexpr double table_step = largest_strain / table_steps;

/// Softening of a solid round section at evenly spaced strains.
std::vector<double> softening_table(const MaterialFacts& facts) {
    std::vector<double> softening(table_steps + 1, 1.0);
    for (int i = 1; i <= table_steps; ++i) {
        const double eps = i * table_step;
        softening[i] = 8 * moment_integral(facts.strain_stress_MPa, eps) /
                       (std::numbers::pi * eps * facts.modulus_MPa);
    }
    return softening;
}

}  // namespace

MaterialFacts facts_of(const Material& material) {
    if (const auto* named = std::get_if<NamedMaterial>(&material)) return facts_of_named(*named);
    if (const auto* linear = std::get_if<LinearMaterial>(&material)) {
        return {linear->modulus_MPa, std::nullopt, {}, "given by the tray"};
    }
    const auto& table = std::get<TabulatedMaterial>(material).strain_stress_MPa;
    return {table.at(1).second / table.at(1).first, table.back().first, table, "given by the tray"};
}

MomentLaw::MomentLaw(const Material& material, double bore_ratio)
    : bore_ratio_(std::clamp(bore_ratio, 0.0, 0.95)) {
    // Named materials never change, and their tables take longer to make than a rehearsal may last.
    static const auto named = [] {
        std::array<std::shared_ptr<const std::vector<double>>, 6> tables;
        for (std::size_t i = 0; i < tables.size(); ++i) {
            const MaterialFacts facts = facts_of_named(static_cast<NamedMaterial>(i));
            if (facts.strain_stress_MPa.size() < 3) continue;
            tables[i] = std::make_shared<std::vector<double>>(softening_table(facts));
        }
        return tables;
    }();
    if (const auto* name = std::get_if<NamedMaterial>(&material)) {
        softening_ = named[static_cast<std::size_t>(*name)];
        return;
    }
    const MaterialFacts facts = facts_of(material);
    if (facts.strain_stress_MPa.size() < 3) return;
    softening_ = std::make_shared<std::vector<double>>(softening_table(facts));
}

double MomentLaw::solid(double eps) const {
    if (eps >= largest_strain) return softening_->back() * largest_strain / eps;
    const double place = eps / table_step;
    const int i = std::min(static_cast<int>(place), table_steps - 1);
    const double t = place - i;
    return (*softening_)[i] * (1 - t) + (*softening_)[i + 1] * t;
}

double MomentLaw::secant(double surface_strain) const {
    if (!softening_) return 1.0;
    const double eps = std::abs(surface_strain);
    if (bore_ratio_ <= 0) return solid(eps);
    const double b4 = bore_ratio_ * bore_ratio_ * bore_ratio_ * bore_ratio_;
    return (solid(eps) - b4 * solid(eps * bore_ratio_)) / (1 - b4);
}

double MomentLaw::tangent(double surface_strain) const {
    if (!softening_) return 1.0;
    constexpr double step = 0.0005;
    const double low = std::max(std::abs(surface_strain) - step, 0.0), high = low + 2 * step;
    return std::clamp((secant(high) * high - secant(low) * low) / (high - low), 0.0, 1.0);
}

double MomentLaw::energy(double surface_strain) const {
    const double eps = std::abs(surface_strain);
    if (!softening_ || eps <= 0) return 1.0;
    constexpr int pieces = 32;
    double sum = 0;
    for (int i = 0; i < pieces; ++i) {
        const double t = (i + 0.5) / pieces;
        sum += secant(eps * t) * t / pieces;
    }
    return 2 * sum;
}

}  // namespace anfract
