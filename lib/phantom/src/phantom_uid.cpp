#include <array>
#include <boost/multiprecision/cpp_int.hpp>
#include <boost/uuid/name_generator_sha1.hpp>
#include <boost/uuid/uuid.hpp>
#include <cstdio>

#include "anfract/phantom/phantom_file.h"

namespace anfract {

std::string phantom_uid(const PhantomOptions& options, const std::string& what) {
    std::array<char, 256> text{};
    std::snprintf(
        text.data(), text.size(),
        "%s seed %llu voxel %.6f psf %.6f noise %.6f %.6f tilt %.6f %d%d%d%d %g %g %g %g %g ",
        options.kind.c_str(), static_cast<unsigned long long>(options.seed), options.voxel_mm,
        options.psf_fwhm_mm, options.noise, options.noise_fwhm_mm, options.tilt_max_deg,
        options.bone_texture, options.metal, options.neighbours, options.thin_bone,
        options.grey_scale, options.grey_offset, options.field_mm, options.movement_mm,
        options.missing_arc_deg);
    // Our own name space: the version-5 UUID of a phrase in the null name space.
    const boost::uuids::uuid space =
        boost::uuids::name_generator_sha1(boost::uuids::uuid{})("anfract phantom");
    const boost::uuids::uuid id = boost::uuids::name_generator_sha1(space)(text.data() + what);
    boost::multiprecision::uint128_t number = 0;
    for (const std::uint8_t byte : id) number = number * 256 + byte;
    return "2.25." + number.str();
}

}  // namespace anfract
