#pragma once

#include <cstdint>
#include <sstream>
#include <string>

namespace anfract::server {

/// A small NRRD file (Teem's format description, version 4) with grey = i + 10 j + 100 k, 0.5 mm
/// voxels, oblique to no axis.
inline std::string small_nrrd(int ni = 10, int nj = 8, int nk = 6) {
    std::ostringstream text;
    text << "NRRD0004\ntype: short\ndimension: 3\nspace: left-posterior-superior\nsizes: " << ni
         << " " << nj << " " << nk
         << "\nspace directions: (0.5,0,0) (0,0.5,0) (0,0,0.5)\nkinds: domain domain "
            "domain\nendian: little\n"
            "encoding: raw\nspace origin: (-2,3,4)\n\n";
    std::string bytes = text.str();
    for (int k = 0; k < nk; ++k) {
        for (int j = 0; j < nj; ++j) {
            for (int i = 0; i < ni; ++i) {
                const int grey = i + 10 * j + 100 * k;
                bytes.push_back(static_cast<char>(grey & 255));
                bytes.push_back(static_cast<char>(grey >> 8));
            }
        }
    }
    return bytes;
}

}  // namespace anfract::server
