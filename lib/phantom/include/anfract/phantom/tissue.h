#pragma once

namespace anfract {

/// Grey values of the tissues on a scale like Hounsfield's. Working values from memory, inside the
/// ranges usual for dental cone-beam scans; scanners differ by hundreds of units.
struct TissueGreys {
    double air = -1000;
    double soft = 50;
    double pulp = 60;
    double ligament = 80;
    double cancellous = 480;
    double cancellous_sd = 240;  ///< of the trabecular texture
    double lamina_dura = 1200;   ///< the thin bone plate round the ligament
    double cortical = 1500;
    double dentine = 1600;
    double enamel = 2650;
    double decayed = 450;  ///< softened dentine
    double least = -2000;  ///< the scanner's range of grey values
    double greatest = 3071;
};

}  // namespace anfract
