#pragma once

#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "anfract/tray/device.h"

namespace anfract {

/// What is assumed of a material. Every figure is a default that a tray may replace by its own.
struct MaterialFacts {
    double modulus_MPa = 0;  ///< Young's modulus at small strain
    /// Largest strain from which the material springs back (or, for nickel-titanium, that it stands
    /// without breaking at once); none for a material given by its modulus alone.
    std::optional<double> elastic_limit_strain;
    /// Stress (MPa) over strain, from (0, 0), never falling; empty for a linear material.
    std::vector<std::pair<double, double>> strain_stress_MPa;
    std::string source;  ///< where the figures are from
};

/// The facts of a material. A linear material has only its modulus; a tabulated one takes its
/// modulus from the first segment of its table and its elastic limit from the last strain of the
/// table.
MaterialFacts facts_of(const Material& material);

/// How a round section softens when its surface strain leaves the linear range.
///
/// M = E I kappa f(eps) with eps = kappa d / 2 the surface strain. For a solid section
///     f(eps) = 8 / (pi eps E) * integral over t in [-1, 1] of sigma(eps t) t sqrt(1 - t^2) dt,
/// and for a tube with bore ratio b, taking away what fills the bore,
///     f_b(eps) = (f(eps) - b^4 f(b eps)) / (1 - b^4);
/// both are 1 for a linear material. The stress-strain curve is taken as symmetric and as elastic:
/// no path dependence. Other than round sections use the same f, which is an approximation.
class MomentLaw {
  public:
    explicit MomentLaw(const Material& material, double bore_ratio = 0);

    bool linear() const { return !softening_; }

    /// Secant softening f in (0, 1]. Interpolated between strains 0 and 0.12 (error below 0.002,
    /// held by MomentLaw.AgreesWithTheClosedFormForAnElasticPlasticBar), beyond that as M constant.
    double secant(double surface_strain) const;
    /// dM/dkappa over E I: f + eps df/deps, by a difference over 0.0005 of strain; in [0, 1].
    double tangent(double surface_strain) const;
    /// Stored energy over that of a linear section, 2/eps^2 * integral of f(t) t dt.
    double energy(double surface_strain) const;

  private:
    double solid(double eps) const;

    double bore_ratio_;
    std::shared_ptr<const std::vector<double>> softening_;
};

}  // namespace anfract
