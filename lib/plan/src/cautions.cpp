#include "anfract/plan/cautions.h"

namespace anfract {

const std::vector<std::string>& plan_cautions() {
    static const std::vector<std::string> cautions{
        "This is a planning aid. It is not a cleared medical device and makes no diagnosis.",
        "Depths are estimates from a scan: verify the working length with an apex locator and a "
        "radiograph before "
        "instrumenting to it, and again before filling.",
        "A canal that was not found may still be there, and one that was found with a low "
        "probability may not.",
        "Irrigant forced past the foramen injures tissue: keep the cannula loose, moving and short "
        "of the "
        "foramen, and press gently.",
        "Instruments break from strain and wear that no plan sees: inspect each before use, "
        "discard it when in "
        "doubt, never force one.",
        "Walls thinner than planned can be perforated; the figures carry the error of the scan.",
        "Heat in the canal warms the root's surface and the ligament: keep it short, and stop at "
        "pain.",
        "Local codes apply, and the licensed clinician decides."};
    return cautions;
}

}  // namespace anfract
