using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace LibraryShelf.Data.Postgres.Migrations
{
    /// <inheritdoc />
    public partial class DropAsks : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.AddColumn<long>(
                name: "AsksSince",
                table: "Drops",
                type: "bigint",
                nullable: true);

            migrationBuilder.AddColumn<bool>(
                name: "IsAtOnce",
                table: "Drops",
                type: "boolean",
                nullable: false,
                defaultValue: false);

            migrationBuilder.AddColumn<long>(
                name: "MovedFrom",
                table: "Drops",
                type: "bigint",
                nullable: true);

            migrationBuilder.CreateTable(
                name: "ClockMarks",
                columns: table => new
                {
                    Id = table.Column<long>(type: "bigint", nullable: false),
                    SeenAt = table.Column<long>(type: "bigint", nullable: false),
                    JumpedFrom = table.Column<long>(type: "bigint", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_ClockMarks", x => x.Id);
                });
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "ClockMarks");

            migrationBuilder.DropColumn(
                name: "AsksSince",
                table: "Drops");

            migrationBuilder.DropColumn(
                name: "IsAtOnce",
                table: "Drops");

            migrationBuilder.DropColumn(
                name: "MovedFrom",
                table: "Drops");
        }
    }
}
