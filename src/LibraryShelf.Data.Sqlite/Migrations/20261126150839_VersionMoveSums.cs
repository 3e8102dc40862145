using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace LibraryShelf.Data.Sqlite.Migrations
{
    /// <inheritdoc />
    public partial class VersionMoveSums : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.CreateIndex(
                name: "IX_VersionMoves_LibraryId_Day_FromReleaseId_ReleaseId_LatestThenId_People",
                table: "VersionMoves",
                columns: new[] { "LibraryId", "Day", "FromReleaseId", "ReleaseId", "LatestThenId", "People" });
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropIndex(
                name: "IX_VersionMoves_LibraryId_Day_FromReleaseId_ReleaseId_LatestThenId_People",
                table: "VersionMoves");
        }
    }
}
