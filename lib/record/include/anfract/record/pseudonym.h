#pragma once

#include <map>
#include <nlohmann/json_fwd.hpp>
#include <string>
#include <vector>

namespace anfract::record {

/// What stands for a patient in what is given away. Whoever keeps it can tell who is meant, so it
/// stays in the practice.
struct Pseudonym {
    std::string name;      ///< "P-" and sixteen hexadecimal digits
    int days_earlier = 0;  ///< all dates are moved by as many, so that the time between them stays
};

/// A new one by the system's random numbers; dates go back by one to ten years.
Pseudonym new_pseudonym();

/// What canals and devices are called instead, since anybody may name them as they like. A canal
/// that is not listed keeps its name if that tells the sides of its root ("MB2").
struct PseudonymousNames {
    std::map<std::string, std::string> canals, devices;
};

/// An anfract.case document without what may tell who the patient is. What the format confines to
/// terms, numbers, yes or no, and codes stays, and so do canals and teeth; dates are moved; all
/// free text is left empty, since nobody has read what is in it.
nlohmann::json pseudonymised_notes(const nlohmann::json& notes, const Pseudonym& pseudonym,
                                   const PseudonymousNames& names = {});

/// An anfract.log document in the same way: kinds, canals, devices, depths and times stay; texts,
/// authors and moments of arrival go; ids and devices that are not listed are counted. The chain
/// goes as well, since its hashes would let a guess at the original be confirmed.
nlohmann::json pseudonymised_log(const std::vector<nlohmann::json>& entries,
                                 const Pseudonym& pseudonym, const PseudonymousNames& names = {});

}  // namespace anfract::record
