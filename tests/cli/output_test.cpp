// SPDX-License-Identifier: MIT
// A file is written whole or not at all.
#include "output.hpp"

#include <filesystem>
#include <fstream>
#include <sstream>

#include <catch2/catch.hpp>

#include "folder.hpp"

namespace fs = std::filesystem;
using namespace tubewright::cli;

TEST_CASE("A file is replaced whole, keeps its mode, and leaves no neighbour behind") {
    const Folder folder;
    const fs::path path = folder.path() / "out.txt";
    folder.write("out.txt", "old");
    fs::permissions(path, fs::perms::owner_read | fs::perms::owner_write);
    CHECK_FALSE(write_whole_file(path, "new text\n"));
    CHECK(folder.read("out.txt") == "new text\n");
    CHECK(fs::status(path).permissions() == (fs::perms::owner_read | fs::perms::owner_write));
    CHECK(folder.files() == 1);
}

TEST_CASE("Through a link the file is written, and the link stays a link") {
    const Folder folder;
    folder.write("real.txt", "old");
    fs::create_symlink(folder.path() / "real.txt", folder.path() / "link.txt");
    CHECK_FALSE(write_whole_file(folder.path() / "link.txt", "new"));
    CHECK(fs::is_symlink(folder.path() / "link.txt"));
    CHECK(folder.read("real.txt") == "new");
}

TEST_CASE("A folder that is not there, and a full device, are told and leave nothing") {
    const Folder folder;
    CHECK(write_whole_file(folder.path() / "nowhere" / "out.txt", "x"));
    CHECK(folder.files() == 0);
    if (fs::exists("/dev/full")) CHECK(write_whole_file("/dev/full", "x"));
}

TEST_CASE("Two names of one file are seen to be one") {
    const Folder folder;
    folder.write("a.xml", "x");
    fs::create_hard_link(folder.path() / "a.xml", folder.path() / "b.xml");
    CHECK(same_file(folder.path() / "a.xml", folder.path() / "b.xml"));
    CHECK(same_file(folder.path() / "a.xml", folder.path() / "." / "a.xml"));
    CHECK_FALSE(same_file(folder.path() / "a.xml", folder.path() / "c.xml"));
}
