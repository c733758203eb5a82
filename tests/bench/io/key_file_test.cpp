#include "bench/io/key_file.hpp"

#include <gtest/gtest.h>

#include <sys/stat.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>

using namespace dropledger;
using namespace dropledger::files;
namespace fs = std::filesystem;

namespace {

class KeyFile : public ::testing::Test {
protected:
    void SetUp() override {
        std::string name = (fs::temp_directory_path() / "key-XXXXXX").string();
        folder_ = ::mkdtemp(name.data());
    }
    void TearDown() override { fs::remove_all(folder_); }
    [[nodiscard]] std::string path(const char* name = "bench.key") const {
        return (folder_ / name).string();
    }

private:
    fs::path folder_;
};

} // namespace

TEST_F(KeyFile, IsForItsOwnerOnlyWhateverTheUmask) {
    const mode_t before = ::umask(0);
    const auto made = make_key_file(path());
    ::umask(before);
    ASSERT_TRUE(made);
    struct stat about {};
    ASSERT_EQ(::stat(path().c_str(), &about), 0);
    EXPECT_EQ(about.st_mode & 07777U, 0600U);
    const auto key = read_key_file(path());
    ASSERT_TRUE(key);
    EXPECT_EQ(droplog::public_key_of(*key), *made);
}

TEST_F(KeyFile, IsNeverReplaced) {
    const auto first = make_key_file(path());
    const auto second = make_key_file(path());
    ASSERT_TRUE(first);
    ASSERT_FALSE(second);
    EXPECT_NE(second.error().what.find("never replaced"), std::string::npos);
    EXPECT_EQ(droplog::public_key_of(*read_key_file(path())), *first);
    EXPECT_NE(*make_key_file(path("other.key")), *first);
}

TEST_F(KeyFile, IsRefusedWhereOthersCanReadIt) {
    ASSERT_TRUE(make_key_file(path()));
    for (const mode_t mode : {0640U, 0604U, 0620U, 0644U}) {
        ASSERT_EQ(::chmod(path().c_str(), mode), 0);
        const auto key = read_key_file(path());
        ASSERT_FALSE(key);
        EXPECT_EQ(exit_status(key.error().kind), 74);
        EXPECT_NE(key.error().message().find("chmod 600"), std::string::npos);
    }
}

TEST_F(KeyFile, RefusesWhatIsNoKeyWithoutShowingIt) {
    for (const char* text :
         {"", "secret words\n", "dropledger bench key, Ed25519, private\nzz\n"}) {
        std::ofstream(path()) << text;
        ::chmod(path().c_str(), 0600);
        const auto key = read_key_file(path());
        ASSERT_FALSE(key);
        EXPECT_EQ(key.error().message().find("secret"), std::string::npos);
    }
    EXPECT_FALSE(read_key_file(path("missing")));
    EXPECT_FALSE(read_key_file(fs::path(path()).parent_path().string()));
}
